/** What one module has to say: recipes drawn one after another, some with others beside them. */
import type { Random } from '../../../src/kit/random.ts';
import { FLAGS, NUMBERS, STATES, type Quantity, type Sender } from './catalog.ts';
import { chance, integer, spread, weighted } from './draw.ts';
import type { Extra } from './extras.ts';
import { floatRecipe } from './float-recipe.ts';
import type { House } from './house.ts';
import { numberRecipe } from './number-recipe.ts';
import type { Recipe } from './recipe.ts';
import { boundRecipe, constantRecipe, flagRecipe, stateRecipe, togetherRecipes, validRecipe } from './state-recipe.ts';
import { changesRecipe, uptimeRecipe } from './time-recipe.ts';

function extraQuantity({ name, middle }: Extra, random: Random): Quantity {
  const step = chance(random, 0.5) ? 2 ** -(6 + random.below(7)) : spread(random, 0.0005, 0.01);
  return { name, low: middle > 0 ? 0 : -1, high: middle > 0 ? 1.5 : 1, steps: [step], kin: name, from: [] };
}

export class Menu {
  constructor(
    readonly house: House,
    private readonly sender: Sender,
    private readonly extras: readonly Extra[],
  ) {}

  private extra(kind: Extra['kind'], share: number, random: Random): Extra | null {
    const own = this.extras.filter((each) => each.kind === kind);
    return own.length > 0 && chance(random, share) ? random.pick(own) : null;
  }

  private quantity(random: Random): Quantity {
    const extra = this.extra('number', 0.4, random);
    if (extra) return extraQuantity(extra, random);
    return random.pick(NUMBERS.filter(({ from }) => from.includes(this.sender)));
  }

  private number(random: Random): readonly Recipe[] {
    const quantity = this.quantity(random);
    if (this.house.floats && !quantity.wraps && chance(random, 0.35)) return [floatRecipe(quantity, random)];
    const recipe = numberRecipe(quantity, this.house, random);
    const isWatched = recipe.filled !== null && recipe.fillShare > 0 && chance(random, 0.1);
    return isWatched ? [recipe, validRecipe(recipe, random)] : [recipe];
  }

  private states(random: Random): Recipe {
    const own = STATES.filter(({ from }) => from.includes(this.sender));
    const extra = this.extra('states', own.length === 0 ? 1 : 0.4, random);
    if (extra) return stateRecipe(extra.name, extra.states, this.house, random);
    if (own.length === 0) return constantRecipe(this.house, random);
    const { name, count } = random.pick(own);
    return stateRecipe(name, count, this.house, random);
  }

  private flags(random: Random): readonly Recipe[] {
    const extra = this.extra('flag', 0.25, random);
    if (extra) return [flagRecipe(extra.name, this.house, random)];
    if (chance(random, 0.1)) {
      const { name, low, high } = this.quantity(random);
      return [boundRecipe(name, low, high, random)];
    }
    const { name } = random.pick(FLAGS.filter(({ from }) => from.includes(this.sender)));
    if (chance(random, 0.08)) return togetherRecipes(name, integer(random, 2, 4), random);
    return [flagRecipe(name, this.house, random)];
  }

  private some(random: Random): readonly Recipe[] {
    const kind = weighted(random, [
      [10, 'number'],
      [9, 'flag'],
      [4, 'states'],
      [2.5, 'constant'],
      [0.3, 'uptime'],
      [0.3, 'changes'],
    ] as const);
    switch (kind) {
      case 'number':
        return this.number(random);
      case 'flag':
        return this.flags(random);
      case 'states':
        return [this.states(random)];
      case 'constant':
        return [constantRecipe(this.house, random)];
      case 'uptime':
        return [uptimeRecipe(random)];
      case 'changes':
        return [changesRecipe(random.pick(STATES).name, random)];
    }
  }

  /** Draws for one frame or page. */
  drawer(random: Random): () => Recipe {
    const waiting: Recipe[] = [];
    return () => {
      if (waiting.length === 0) waiting.push(...this.some(random));
      return waiting.shift()!;
    };
  }
}
