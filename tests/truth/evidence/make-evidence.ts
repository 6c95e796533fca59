/** One machine of an invented kind, used, recorded, marked and measured, with all that is true of it: `makeEvidenceVehicle(seed, wish)`. */
import type { MarkFile } from '../../../src/actions/types.ts';
import type { FrameTable } from '../../../src/frames/table.ts';
import { createRandom, type Random } from '../../../src/kit/random.ts';
import { blankSignal } from '../../../src/map/blank-signal.ts';
import type { ProposedFrame } from '../../../src/map/proposed-fields.ts';
import type { MapSignal } from '../../../src/map/schema.ts';
import { chance, whole } from '../stranger/draw.ts';
import { atRandom, driveTrack, followers, handTrack, syncTaps, type Deed } from './agenda.ts';
import { combine } from './columns.ts';
import { addLever, addPedals, addPlaces, addSwitch } from './controls.ts';
import { diagnose, drawLinks, type Addressing } from './diagnose.ts';
import { addFiller } from './filler.ts';
import { KINDS, type MachineKind } from './kinds.ts';
import { layOut, type Frame } from './layout.ts';
import { Machine } from './machine.ts';
import { CLOCKS, markDoings, type ClockKind } from './person.ts';
import { drawPlan, type Plan } from './plan.ts';
import { takeReferences } from './references.ts';
import { addFilling, addRitual, addStrangers, drawRitual } from './rituals.ts';
import { EPOCH_S, sendFrame, tableOf, type Awake } from './send.ts';
import { runDrive, tellMotors, tellPack, tellSpeeds } from './traction.ts';
import { SLEEPS_AFTER_S, sleepersOf } from './sleepers.ts';
import type { Doing, EvidenceTruth, ReferenceSet, Silence, TrueAction, TrueField } from './truth.ts';

export type * from './truth.ts';

export interface EvidenceWish {
  /** `drive`: a person uses it. `starts`: key and plug again and again. One action's name: only that is done. */
  readonly recording?: 'drive' | 'starts' | { readonly only: string; readonly take: number };
  readonly seconds?: number;
  /** A kind's name; else drawn. */
  readonly kind?: string;
  /** Module that is not there: see `truth.modules`. The machine is otherwise the same. */
  readonly unplugged?: string;
  readonly confounded?: boolean;
  readonly syncTaps?: boolean;
  /** Of `starts`: some modules sleep while the key is off. */
  readonly sleepers?: boolean;
  readonly marksClock?: ClockKind;
  readonly marksTimeBase?: 'epoch' | 'capture';
  readonly diagnostics?: boolean | Addressing;
  readonly extended?: boolean;
  /** Another recording of the same machine. */
  readonly take?: number;
}

export interface EvidenceVehicle {
  readonly table: FrameTable;
  /** Fields placed and coded as they are, named without a meaning, diagnostics left out. */
  readonly trueFindings: readonly (ProposedFrame & { readonly fields: readonly MapSignal[] })[];
  readonly marks: MarkFile;
  readonly references: readonly ReferenceSet[];
  readonly truth: EvidenceTruth;
}

const DRIVE_S = 170;

interface Story {
  readonly deeds: readonly Deed[];
  readonly keys: readonly Doing[];
  readonly plugs: readonly Doing[];
  readonly taps: readonly number[];
}

const plainKey = (startS: number, endS: number | null): Doing => ({ action: 'key', startS, endS, value: null });

function tellDrive(random: Random, kind: MachineKind, plan: Plan, seconds: number, withTaps: boolean): Story {
  const onS = chance(random, 0.5) ? random.between(0.5, 2) : -20;
  const fromS = Math.max(2, onS + 4);
  const taps = withTaps ? syncTaps(random.fork('taps'), fromS) : [];
  const startS = fromS + (withTaps ? 4 : 0);
  const own = [
    ...driveTrack(random.fork('drive'), kind, plan.levers, startS, seconds - 2),
    ...handTrack(random.fork('hands'), plan, startS, seconds - 3),
  ];
  const { confound } = plan;
  const held = plan.switches.find(({ action }) => action === confound?.follower)?.held ?? false;
  const follow = confound ? followers(random.fork('follow'), confound, own, held) : [];
  const silent = plan.silent.flatMap((action) => atRandom(random.fork(action), action, startS, seconds));
  return {
    deeds: [...taps, ...own, ...follow, ...silent],
    keys: [plainKey(onS, null)],
    plugs: [],
    taps: taps.map((tap) => tap.startS),
  };
}

/** Key on and off and now and then plugged in between, a little driving while it is on. */
function tellStarts(random: Random, kind: MachineKind, seconds: number, sleepers: boolean): Story {
  const [keys, plugs, deeds] = [[] as Doing[], [] as Doing[], [] as Deed[]];
  for (let atS = random.between(2, 4); atS < seconds - 16;) {
    const offS = atS + random.between(9, 13);
    keys.push(plainKey(atS, offS));
    const place = whole(random, 1, kind.selector.length - 1);
    const touch = (action: string, after: number, holdS: number | null, level: number): void => {
      const startS = atS + after + random.between(0, 0.4);
      const value = action === 'selector' ? (kind.selector[level] as string) : null;
      deeds.push({ action, startS, endS: holdS === null ? null : startS + holdS, value, level });
    };
    if (chance(random, 0.7)) {
      touch('selector', 4.6, null, place);
      touch('accelerate', 5.6, random.between(0.5, 1.2), 0.6);
      touch('brake', 7.6, 0.8, 0.7);
      touch('selector', 8.7, null, 0);
    }
    const againS = offS + random.between(5, 7) + (sleepers ? SLEEPS_AFTER_S[1] : 0);
    if (keys.length % 2 === 1) {
      const plugS = offS + random.between(2.5, 3.5);
      const pulledS = plugS + random.between(5, 7);
      plugs.push({ action: 'plug', startS: plugS, endS: pulledS, value: null });
      atS = pulledS + random.between(3, 5);
    } else atS = againS;
  }
  return { deeds, keys, plugs, taps: [] };
}

/** One thing done a few times, and nothing else. */
function tellOnly(random: Random, kind: MachineKind, plan: Plan, seconds: number, only: string): Story {
  const drive = driveTrack(random, kind, plan.levers, 0, 400);
  const all = [...drive, ...handTrack(random, plan, 0, 400)];
  const model = all.filter(({ action }) => action === only);
  const times = whole(random, 3, 5);
  const everyS = (seconds - 5) / times;
  const deeds = Array.from({ length: model.length > 0 ? times : 0 }, (_, turn): Deed => {
    const { startS, endS, ...rest } = model[turn % model.length] as Deed;
    const atS = 3 + (turn + random.between(0, 0.35)) * everyS;
    return { ...rest, startS: atS, endS: endS === null ? null : atS + Math.min(endS - startS, everyS * 0.6) };
  });
  const unseen = plan.silent.includes(only) ? atRandom(random, only, 2, seconds - 2).slice(0, times) : [];
  // Pedals do something only where the machine would drive.
  const driving: Deed = { action: 'selector', startS: -10, endS: null, value: kind.selector[1] as string, level: 1 };
  const before = only === 'accelerate' || only === 'brake' ? [driving] : [];
  return { deeds: [...before, ...deeds, ...unseen], keys: [plainKey(-20, null)], plugs: [], taps: [] };
}

function tell(random: Random, kind: MachineKind, plan: Plan, seconds: number, wish: EvidenceWish): Story {
  const { recording = 'drive' } = wish;
  if (recording === 'drive')
    return tellDrive(random, kind, plan, seconds, wish.syncTaps ?? chance(random.fork('with taps'), 0.5));
  return recording === 'starts'
    ? tellStarts(random, kind, seconds, wish.sleepers ?? false)
    : tellOnly(random, kind, plan, seconds, recording.only);
}

/** In half of all drives a module falls silent two or three times: it starts anew. */
function drawSilences(machine: Machine, random: Random, { helper, charger }: MachineKind): void {
  if (!chance(random, 0.5)) return;
  const module = random.pick([helper, charger]);
  const times = random.pick([2, 3]);
  for (let turn = 0; turn < times; turn++) {
    const fromS = ((turn + random.between(0.2, 0.8)) / times) * machine.seconds;
    machine.silences.push({ module, fromS, toS: fromS + random.between(1.5, 4) });
  }
}

/** Puts the machine together for one recording. */
function build(seed: string, kind: MachineKind, plan: Plan, machine: Machine, { deeds, keys, plugs }: Story): void {
  const random = createRandom(`evidence machine ${seed}`);
  const { desk, body } = kind;
  const columns = addRitual(machine, drawRitual(random.fork('key'), kind, 'key'), keys);
  addRitual(machine, drawRitual(random.fork('plug'), kind, 'plug'), plugs);
  addStrangers(machine, kind);
  const ready = addFilling(machine, random.fork('filling'), kind, columns);
  const { pedal, brake } = addPedals(machine, random.fork('pedals'), kind, deeds);
  const place = addPlaces(machine, random.fork('selector'), desk, 'selector', kind.selector, deeds);
  for (const [action, values] of plan.modes) addPlaces(machine, random.fork(action), body, action, values, deeds);
  for (const lever of plan.levers) addLever(machine, random.fork(lever), kind, lever, deeds);
  for (const each of plan.switches) addSwitch(machine, random.fork(each.action), kind, each, deeds);
  const moving = combine(place, ready, (where, on) => where * on);
  const controls = { pedal, brake, place: moving, ready };
  const drive = runDrive(machine, random.fork('drive'), kind, controls);
  tellMotors(machine, random.fork('motors'), kind, drive, controls);
  tellSpeeds(machine, random.fork('speeds'), kind, drive);
  tellPack(machine, random.fork('pack'), kind, drive);
  addFiller(machine, random.fork('filler'), kind);
}

const hex = (id: number): string => `0x${id.toString(16).toUpperCase()}`;
const nameOf = ({ place }: Frame['shown'][number]): string => `f${place.lsb.byte}_${place.lsb.bit}`;

function fieldsOf({ layout, shown, sender }: Frame): TrueField[] {
  const { bus, id, extended, periodMs } = layout;
  return shown.map((each): TrueField => {
    const { signal, place, coding, scale, offset } = each;
    const { name, quantity, role, kind, unit } = signal;
    const where = { bus, id: hex(id), extended, field: nameOf(each), periodMs };
    return { ...place, ...where, signal: name, quantity, sender, role, kind, coding, unit, scale, offset };
  });
}

function findingOf({ layout, shown }: Frame): EvidenceVehicle['trueFindings'][number] {
  const { bus, id, extended } = layout;
  const fields = shown.map((each): MapSignal => ({
    ...blankSignal(each.place, nameOf(each)),
    coding: each.coding,
    kind: each.signal.kind,
    confidence: 1,
  }));
  return { bus, id: hex(id), extended, direction: 'received', selectors: [], fields };
}

/** All the time but for some silences. */
function awakeBut(silences: readonly Silence[], seconds: number): Awake[] {
  const [from, to] = [
    [0, ...silences.map(({ toS }) => toS)],
    [...silences.map(({ fromS }) => fromS), seconds],
  ];
  return from.map((fromS, k) => ({ fromS, toS: to[k] as number }));
}

function actionsOf(machine: Machine, plan: Plan): TrueAction[] {
  const { confound } = plan;
  const known = [...machine.answers.keys(), ...plan.silent, ...plan.idle];
  return known.map((action): TrueAction => {
    const { direct, consequences, states } = machine.answersOf(action);
    const sort = plan.idle.includes(action) ? 'idle' : plan.silent.includes(action) ? 'unanswered' : 'answered';
    const other =
      confound?.leader === action ? [confound.follower] : confound?.follower === action ? [confound.leader] : [];
    return {
      action,
      sort,
      direct,
      consequences: [...consequences].sort((a, b) => a.lagS - b.lagS),
      states,
      confoundedWith: other,
      doings: machine.doingsOf(action).filter(({ startS }) => startS > 0),
    };
  });
}

function markedDoings(random: Random, machine: Machine, plan: Plan, { keys }: Story, isDrive: boolean): Doing[] {
  const idle = isDrive ? plan.idle.flatMap((action) => atRandom(random.fork(action), action, 4, machine.seconds)) : [];
  const real = machine.doings.filter((doing) => doing.action !== 'key' || keys.length > 1);
  return [...real, ...idle].filter(({ startS }) => startS > 0).sort((a, b) => a.startS - b.startS);
}

/** The same seed and wish give the same to the bit; the same seed the same machine. Some 30 to 45 identifiers. */
export function makeEvidenceVehicle(seed: number | string, wish: EvidenceWish = {}): EvidenceVehicle {
  const { recording = 'drive', take = 0, unplugged = null } = wish;
  const isOnly = typeof recording === 'object';
  const seconds = wish.seconds ?? (isOnly ? 20 : recording === 'starts' ? 200 : DRIVE_S);
  const what = createRandom(`evidence ${seed}`);
  const kind = KINDS.find(({ name }) => name === wish.kind) ?? what.fork('kind').pick(KINDS);
  const plan = drawPlan(what.fork('plan'), kind, wish.confounded ?? null);
  const takeName = `${seed} ${isOnly ? `${recording.only} ${recording.take}` : recording} ${take}`;
  const happenings = createRandom(`evidence recording ${takeName}`);
  const story = tell(happenings.fork('story'), kind, plan, seconds, wish);
  const doings: Doing[] = [...story.deeds.map(({ level: _, ...doing }) => doing), ...story.keys, ...story.plugs].sort(
    (a, b) => a.startS - b.startS,
  );
  const machine = new Machine(
    happenings.fork('happens'),
    createRandom(`evidence nature ${seed}`),
    seconds,
    doings,
    unplugged,
  );
  if (recording === 'drive') drawSilences(machine, happenings.fork('silences'), kind);
  build(`${seed}`, kind, plan, machine, story);
  const frames = layOut(machine, `${seed}`, wish.extended ?? null);
  const loss = happenings.fork('loss').pick([0, 0, 0.0003, 0.002]);
  const sleepers = wish.sleepers
    ? sleepersOf(what.fork('sleepers'), happenings.fork('sleepers'), kind, story.keys)
    : [];
  const awakeOf = ({ sender }: Frame) =>
    sleepers.find((one) => one.sender === sender)?.awake ?? awakeBut(machine.silencesOf(sender), seconds);
  const sent = frames
    .filter(({ sender }) => machine.isThere(sender))
    .map((frame) => sendFrame(frame, takeName, seconds, awakeOf(frame), loss));
  const wantsTester = wish.diagnostics ?? chance(what.fork('tester'), 0.3);
  const [first] = frames as [Frame];
  const links = drawLinks(
    what.fork('links'),
    machine,
    first.layout.bus,
    typeof wantsTester === 'string' ? wantsTester : null,
  );
  const talk = wantsTester ? diagnose(machine, happenings.fork('tester'), links) : { frames: [], exchanges: [] };
  const firstUs = Math.min(
    ...sent.flatMap(({ timeUs }) => [...timeUs.slice(0, 1)]),
    ...talk.frames.map(({ timeUs }) => timeUs),
  );
  const person = happenings.fork('person');
  const clock = wish.marksClock ?? person.pick(['seconds', ...CLOCKS]);
  const timeBase = wish.marksTimeBase ?? person.pick(['epoch', 'epoch', 'capture']);
  const shown = markedDoings(person.fork('idle'), machine, plan, story, recording === 'drive');
  const marked = markDoings(
    person.fork('marks'),
    isOnly ? [] : shown,
    seconds,
    clock,
    firstUs / 1e6,
    timeBase === 'epoch' ? EPOCH_S : null,
  );
  const shift = firstUs / 1e6;
  const truth: EvidenceTruth = {
    machine: kind.name,
    modules: [...new Set(frames.map(({ sender }) => sender))],
    fields: frames.filter(({ sender }) => machine.isThere(sender)).flatMap(fieldsOf),
    actions: actionsOf(machine, plan),
    marksOffsetS: marked.offsetS,
    marksDriftPpm: marked.driftPpm,
    syncTapsS: story.taps,
    pairs: machine.pairs,
    sequences: machine.sequences,
    presences: sleepers.flatMap(({ presences }) => presences),
    relations: machine.relations,
    identifiers: wantsTester ? links.flatMap(({ identifiers }) => identifiers) : [],
    exchanges: talk.exchanges,
    shown: Object.fromEntries(machine.shown),
    silences: machine.silences,
    unplugged,
  };
  const there = frames.filter(({ sender }) => machine.isThere(sender));
  return {
    table: tableOf(sent, talk.frames),
    trueFindings: there.map(findingOf),
    marks: marked.file,
    references: isOnly ? [] : takeReferences(machine, happenings.fork('references'), shift, EPOCH_S),
    truth: onCaptureClock(truth, shift),
  };
}

/** True time to seconds from the first frame. */
function onCaptureClock(truth: EvidenceTruth, firstS: number): EvidenceTruth {
  const shifted = (timeS: number): number => timeS - firstS;
  const doing = (each: Doing): Doing => ({
    ...each,
    startS: shifted(each.startS),
    endS: each.endS === null ? null : shifted(each.endS),
  });
  return {
    ...truth,
    actions: truth.actions.map((each) => ({ ...each, doings: each.doings.map(doing) })),
    syncTapsS: truth.syncTapsS.map(shifted),
    silences: truth.silences.map(({ fromS, toS, ...rest }) => ({
      ...rest,
      fromS: shifted(fromS),
      toS: shifted(toS),
    })),
    sequences: truth.sequences.map((sequence) => ({
      ...sequence,
      eventS: sequence.eventS.map(shifted),
      steps: sequence.steps.map((step) => ({
        ...step,
        atS: step.atS.map((atS) => (atS === null ? null : shifted(atS))),
      })),
    })),
    presences: truth.presences.map((each) => ({ ...each, atS: each.atS.map(shifted) })),
    exchanges: truth.exchanges.map((each) => ({ ...each, atS: shifted(each.atS) })),
  };
}
