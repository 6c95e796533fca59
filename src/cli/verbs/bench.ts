/** `bench`: the wiring checklist, trials that judge themselves, and what they tell of each frame. */
import { existsSync } from 'node:fs';
import { benchedMap } from '../../handover/bench/benched-map.ts';
import { conclude } from '../../handover/bench/conclusions.ts';
import { benchState } from '../../handover/bench/next-step.ts';
import { parsePlanFacts, withFacts } from '../../handover/bench/plan-facts.ts';
import * as records from '../../handover/bench/record.ts';
import type { BenchRecord } from '../../handover/bench/record-schema.ts';
import { measuredTimeouts } from '../../handover/bench/timeouts.ts';
import { keepAlivePlan } from '../../handover/needs/plan.ts';
import type { KeepAlivePlan } from '../../handover/needs/types.ts';
import { frameKey } from '../../map/identifiers.ts';
import { parseMap } from '../../map/parse.ts';
import { printMap } from '../../map/print.ts';
import type { SignalMap } from '../../map/schema.ts';
import { CannotDo, type ParsedWords } from '../arguments.ts';
import { measurementOf, secondsOf, setAsideOf, wiringSureOf } from '../bench-arguments.ts';
import { benchText } from '../bench-text.ts';
import { withRecording, writeNext, type Bench } from '../bench-trial.ts';
import { CAPTURE_OPTIONS, JSON_OPTION } from '../capture-arguments.ts';
import { prepareOutput, readText, writeWhole } from '../files.ts';
import { PART_OPTION, withPart } from '../handover-inputs.ts';
import { parseFile, valueOf } from '../tasks/context.ts';
import type { Terminal } from '../terminal.ts';
import type { Verb } from '../verb.ts';

function withAnswers({ parsed, terminal, map, plan, record }: Bench): BenchRecord {
  const [by, at] = [parsed.one('by') ?? '', new Date().toISOString()];
  const measured = parsed.many('measure').map((text) => measurementOf(text, by, at));
  const answered = measured.reduce(records.withMeasurement, record);
  const note = parsed.one('wiring-sure');
  const sure = note === undefined ? answered : records.withWiringSure(answered, wiringSureOf(note, by, at));
  const released = parsed.many('release');
  const wider = released.length > 0 ? valueOf(records.withReleased(sure, map, plan, released), terminal) : sure;
  return parsed.many('set-aside').reduce((all, text) => {
    const { numbers, why } = setAsideOf(text);
    const unknown = numbers.find((number) => !all.trials.some((trial) => trial.number === number));
    if (unknown !== undefined) throw new CannotDo(`There is no trial ${unknown} on record.`);
    return records.withSetAside(all, numbers, why);
  }, wider);
}

/** The plan of the map, with what a handover found in captures where its plan is given. */
async function givenPlan(parsed: ParsedWords, map: SignalMap, terminal: Terminal): Promise<KeepAlivePlan | null> {
  const path = parsed.one('plan');
  if (path === undefined) return null;
  const facts = await parseFile(path, parsePlanFacts, terminal);
  if (facts.captures.length === 0)
    throw new CannotDo(`${path} was made from the map alone: it tells no phase and no order. Make it from captures.`);
  const known = new Set(map.frames.map(frameKey));
  const unknown = facts.frames.filter(({ key }) => !known.has(key)).map(({ key }) => key);
  if (unknown.length === facts.frames.length) throw new CannotDo(`${path} has no frame of this map.`);
  if (unknown.length > 0) terminal.say(`${path} has frames that the map has not: ${unknown.join(', ')}`);
  return withFacts(keepAlivePlan(map), facts);
}

interface Opening {
  readonly path: string;
  readonly parsed: ParsedWords;
  readonly map: SignalMap;
  readonly terminal: Terminal;
}

async function openRecord({ path, parsed, map, terminal }: Opening) {
  const given = await givenPlan(parsed, map, terminal);
  if (existsSync(path)) {
    const text = await readText(path);
    const read = valueOf(records.parseBench(text, path), terminal);
    return { text, read, record: given ? valueOf(records.withPlan(read, map, given), terminal) : read };
  }
  const [sleepS, settleS] = [secondsOf(parsed.one('sleep'), 'sleep'), secondsOf(parsed.one('settle'), 'settle')];
  const settings = { ...(sleepS ? { sleepS } : {}), ...(settleS ? { settleS } : {}) };
  const made = records.newBench(map, given ?? keepAlivePlan(map), { release: parsed.many('release'), settings });
  return { text: null, read: null, record: valueOf(made, terminal) };
}

/** Another program may have added to the record meanwhile: nothing of that is lost. */
async function saveRecord(path: string, before: string | null, record: BenchRecord): Promise<void> {
  const now = existsSync(path) ? await readText(path) : null;
  if (now !== before) throw new CannotDo(`${path} was changed meanwhile; nothing was written. Run this again.`);
  await writeWhole(path, records.printBench(record));
}

export const bench: Verb = {
  name: 'bench',
  summary: 'which frames a part needs: wiring checklist, trials that judge themselves, evidence in the map',
  usage: '--map MAP --record FILE [--measure ITEM=VALUE] [--next -o DIR | --trial N CAPTURE] [--json]',
  about:
    'Keeps a bench record: first what was measured of the wiring, then trials. Each trial sends one set of frames after a full sleep; its recording is dropped in and tells from the state and fault fields of the part whether it slept, had a fault, or worked. The next set follows from all answers, until none of the set can be left out. Answers may be wrong now and then, and faults may stay or come late: trials are repeated, and how many to reckon with is said before the first.\nNothing is sent by this program: it writes a schedule in C and what to do. Without supply, ground, termination, an uncoupled shaft, a harmless traction supply and an emergency stop answered there is no trial.',
  options: [
    { name: 'map', value: 'MAP', required: true, help: 'the signal map; payloads at rest from a marked span' },
    {
      name: 'record',
      value: 'FILE',
      required: true,
      help: 'the bench record; begun where it is not there. Entries are only added',
    },
    {
      name: 'release',
      value: 'FRAME',
      repeats: true,
      help: 'trials may send this frame; by its name in the map, one by one',
    },
    {
      name: 'measure',
      value: 'ITEM=VALUE',
      repeats: true,
      help: 'an answer to the checklist: supply=12.6V, "shaft=ok: uncoupled", "crash-line=not-applicable: has none"',
    },
    { name: 'by', value: 'NAME', help: 'who measured' },
    {
      name: 'plan',
      value: 'FILE',
      help: 'keep-alive.json of a handover from captures: trials take its periods, phases and order; kept in the record',
    },
    {
      name: 'wiring-sure',
      value: 'NOTE',
      help: 'everything sent does not make it work, and you went over the wiring again: what was checked. With --by',
    },
    { name: 'next', help: 'writes the files of the next trial into the folder of -o' },
    { name: 'output', short: 'o', value: 'DIR', help: 'folder for the files of the trial' },
    { name: 'confirm', value: 'PHRASE', help: 'what you were told to type once you have read the cautions' },
    { name: 'trial', value: 'N', help: 'the recording named is that of trial N: judged and added' },
    { name: 'silent', help: 'with --trial: nothing was sent, and nothing at all was heard' },
    { name: 'moved', value: 'yes|no', help: 'with --trial: whether anything moved or clicked that should not' },
    {
      name: 'seen',
      value: 'VERDICT',
      help: 'with --trial: what you saw wins over the recording: asleep, awake-with-fault, operational, unclear',
    },
    {
      name: 'stop',
      value: 'FRAME',
      help: 'with --next or --trial: this frame of the set found falls silent, to time the reaction',
    },
    {
      name: 'vary',
      value: 'FRAME.SIGNAL=VALUE',
      help: 'with --next or --trial: the set found, with a signal at another value',
    },
    {
      name: 'follows',
      value: 'FRAME.SIGNAL',
      help: 'with --trial and --vary: the number of the part that should follow',
    },
    { name: 'set-aside', value: 'N,N=WHY', repeats: true, help: 'these trials do not count; they stay on record' },
    { name: 'sleep', value: 'S', help: 'for a new record: seconds without supply before a trial (default 20)' },
    { name: 'settle', value: 'S', help: 'for a new record: seconds that a trial is watched (default 12)' },
    { name: 'into', value: 'MAP', help: 'writes the map with what the bench has shown' },
    PART_OPTION,
    ...CAPTURE_OPTIONS,
    JSON_OPTION,
  ],
  example: 'loomscribe bench --map map.json --record bench.json --measure supply=12.6V --by Kim',
  async run(parsed, terminal) {
    const [path, into] = [parsed.one('record') as string, parsed.one('into')];
    [path, into].forEach((each) => each !== undefined && prepareOutput(each));
    const map = withPart(await parseFile(parsed.one('map') as string, parseMap, terminal), parsed);
    const { text, read, record: opened } = await openRecord({ path, parsed, map, terminal });
    const plan = withFacts(keepAlivePlan(map), opened.plan);
    const begun = { parsed, terminal, map, plan, record: opened };
    const answered = { ...begun, record: withAnswers(begun) };
    const record = await withRecording(answered);
    if (record !== read) await saveRecord(path, text, record);
    const state = benchState(map, record);
    const isNext = parsed.has('next');
    const files = isNext ? await writeNext({ ...begun, record }, state) : [];
    if (into !== undefined) await writeWhole(into, printMap(benchedMap(map, record, state)));
    const shown = { record, state, conclusions: conclude(record, state), timeouts: measuredTimeouts(state.judged) };
    terminal.print(parsed.has('json') ? jsonText(shown, files) : [benchText(shown), ...files].join('\n'));
  },
};

function jsonText({ record, state, conclusions, timeouts }: Parameters<typeof benchText>[0], files: string[]): string {
  const { step, judged, counting, bounds, setOut } = state;
  const trials = judged.map(({ trial: { number, kind, aim, sent }, verdict, reasons, onsetS, judgedBy }) => ({
    ...{ number, kind, aim, sent, verdict, reasons, onsetS, judgedBy },
  }));
  const { leftOut, sleepS, settleS } = counting;
  const { heldBack, checklist } = record;
  return JSON.stringify(
    { step, bounds, setOut, trials, leftOut, sleepS, settleS, conclusions, timeouts, heldBack, checklist, files },
    null,
    2,
  );
}
