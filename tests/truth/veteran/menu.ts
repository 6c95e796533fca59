/** What one module has to say: recipes drawn one after another, none of a quantity twice in a frame. */
import type { Random } from '../../../src/kit/random.ts';
import { FLAGS, NUMBERS, STATES, type Quantity, type Sender } from './catalog.ts';
import { chance, spread, weighted } from './draw.ts';
import type { Extra } from './extras.ts';
import type { House } from './house.ts';
import { numberRecipe } from './number-recipe.ts';
import { boundRecipe, constantRecipe, flagRecipe, stateRecipe } from './state-recipe.ts';
import { changesRecipe, uptimeRecipe } from './time-recipe.ts';
import type { Recipe } from './recipe.ts';

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

  numbers(): readonly Quantity[] {
    return NUMBERS.filter(({ from }) => from.includes(this.sender));
  }

  private number(random: Random): Recipe {
    const extras = this.extras.filter(({ kind }) => kind === 'number');
    if (extras.length > 0 && chance(random, 0.4))
      return numberRecipe(extraQuantity(random.pick(extras), random), this.house, random);
    return numberRecipe(random.pick(this.numbers()), this.house, random);
  }

  private states(random: Random): Recipe {
    const own = STATES.filter(({ from }) => from.includes(this.sender));
    const extras = this.extras.filter(({ kind }) => kind === 'states');
    if (own.length === 0 || (extras.length > 0 && chance(random, 0.4))) {
      if (extras.length === 0) return constantRecipe(this.house, random);
      const { name, states } = random.pick(extras);
      return stateRecipe(name, states, this.house, random);
    }
    const { name, count } = random.pick(own);
    return stateRecipe(name, count, this.house, random);
  }

  private flag(random: Random): Recipe {
    const extras = this.extras.filter(({ kind }) => kind === 'flag');
    if (extras.length > 0 && chance(random, 0.25)) return flagRecipe(random.pick(extras).name, this.house, random);
    const own = FLAGS.filter(({ from }) => from.includes(this.sender));
    if (chance(random, 0.1)) {
      const { name, low, high } = random.pick(this.numbers());
      return boundRecipe(name, low, high, random);
    }
    return flagRecipe(random.pick(own).name, this.house, random);
  }

  draw(random: Random): Recipe {
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
        return this.flag(random);
      case 'states':
        return this.states(random);
      case 'constant':
        return constantRecipe(this.house, random);
      case 'uptime':
        return uptimeRecipe(random);
      case 'changes':
        return changesRecipe(random.pick(STATES).name, random);
    }
  }
}
