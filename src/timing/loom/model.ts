/** What the loom shows, from the survey: buses, on each the senders in the order of the rate they add, in each its identifiers. */
import { streamName, type StreamKey } from '../../frames/table.ts';
import { displayId } from '../../kit/units.ts';
import type { Survey, SurveyBus, SurveyFrame } from '../types.ts';

export interface Strand {
  /** As `streamName` writes it. */
  readonly key: string;
  readonly stream: StreamKey;
  readonly shownId: string;
  /** Upright where a person gave it, italic where it is drawn from what is in it. */
  readonly name: string;
  readonly named: boolean;
  readonly group: string | null;
  /** Frames a second. */
  readonly rate: number;
  /** CSS pixels. */
  readonly width: number;
  /** No period: sent when something changes, asked for, or once. */
  readonly onChange: boolean;
  readonly periodMs: number | null;
  readonly jitterMs: number | null;
  /** In the period's place where there is none. */
  readonly timingWords: string;
  readonly end: 'dot' | 'ring' | 'square';
  readonly frame: SurveyFrame;
}

export interface Branch {
  /** A sender; copies of another bus; what nobody is known to send; what the logger itself sent. */
  readonly kind: 'sender' | 'copies' | 'unknown' | 'sent';
  readonly bus: string;
  readonly group: string | null;
  readonly title: string;
  readonly named: boolean;
  /** Below the title: skew, or the reason why these hang loose. */
  readonly words: string;
  /** Less than nine in ten sure: one dashed tie. */
  readonly doubted: boolean;
  readonly strands: readonly Strand[];
}

export interface LoomBus {
  readonly name: string;
  /** "500 kbit/s, load 54 %". */
  readonly words: string;
  readonly branches: readonly Branch[];
}

export interface Loom {
  readonly buses: readonly LoomBus[];
  /** Full scale of the jitter bars. */
  readonly jitterMs: number;
  /** Identifiers received, and senders told. */
  readonly identifiers: number;
  readonly senders: number;
}

/** A name for an identifier; italic where it is only a guess. */
export interface GivenName {
  readonly name: string;
  readonly named: boolean;
}
export type NameOf = (frame: SurveyFrame) => GivenName;

export const strandWidth = (framesPerSecond: number): number => 0.7 + 0.46 * Math.sqrt(framesPerSecond);

const DOUBTED_BELOW = 0.9;

export const streamOf = ({ bus, id, extended, direction }: SurveyFrame): StreamKey => ({
  bus,
  id: Number(id),
  extended,
  direction,
});

function rateOf({ timing, count }: SurveyFrame, durationS: number): number {
  return timing.periodMs ? 1000 / timing.periodMs : count / Math.max(durationS, 1);
}

const TIMING_WORDS: Readonly<Record<string, string>> = {
  'on-change': 'on change',
  reply: 'when asked',
  once: 'once',
  mixed: 'on change',
};

function endOf({ byHand, copyOf }: SurveyFrame): Strand['end'] {
  if (byHand) return 'square';
  return copyOf ? 'ring' : 'dot';
}

const copyWords = ({ bus, id }: NonNullable<SurveyFrame['copyOf']>): string => `copy of ${bus} ${id}`;

/** Network management, as short as a column of names wants it; the panel gives the reasons. */
const networkWords = ({ kind, node }: NonNullable<SurveyFrame['network']>): string =>
  `${kind === 'ring' ? 'network ring' : 'network'}, node ${node}`;

function nameFor(frame: SurveyFrame, nameOf: NameOf): GivenName {
  const given = nameOf(frame);
  if (given.name) return given;
  if (frame.copyOf) return { name: copyWords(frame.copyOf), named: true };
  return frame.network ? { name: networkWords(frame.network), named: false } : given;
}

function strandOf(frame: SurveyFrame, durationS: number, nameOf: NameOf): Strand {
  const stream = streamOf(frame);
  const rate = rateOf(frame, durationS);
  const { periodMs, jitterMs, kind } = frame.timing;
  return {
    key: streamName(stream),
    stream,
    shownId: displayId(stream.id, stream.extended),
    ...nameFor(frame, nameOf),
    group: frame.group,
    rate,
    width: strandWidth(rate),
    onChange: periodMs === null || kind === 'on-change',
    periodMs,
    jitterMs,
    timingWords: TIMING_WORDS[kind] ?? kind,
    end: endOf(frame),
    frame,
  };
}

const byId = (a: Strand, b: Strand): number =>
  Number(a.stream.extended) - Number(b.stream.extended) || a.stream.id - b.stream.id;
const rateOfAll = (strands: readonly Strand[]): number => strands.reduce((sum, { rate }) => sum + rate, 0);

const skewWords = (ppm: number | null): string =>
  ppm === null ? '' : `${ppm < 0 ? '−' : '+'}${Math.abs(ppm).toFixed(1)} ppm`;

/** A copy is the gateway's, and which group that is does not show, unless a person says so. */
const isOwn = ({ copyOf, byHand }: SurveyFrame): boolean => !copyOf || byHand !== undefined;

function senderBranches(bus: string, strands: readonly Strand[], { groups }: LoomSource): Branch[] {
  const letters = [...new Set(strands.flatMap(({ group, frame }) => (group && isOwn(frame) ? [group] : [])))];
  const branches = letters.map((group): Branch => {
    const own = strands.filter((strand) => strand.group === group && isOwn(strand.frame)).sort(byId);
    const found = groups.find((one) => one.group === group);
    const sure = own.map(({ frame }) => frame.groupConfidence ?? 0).sort((a, b) => a - b);
    return {
      kind: 'sender',
      bus,
      group,
      title: found?.name ?? `sender ${group}`,
      named: found?.name !== undefined,
      words: skewWords(found?.skewPpm ?? null),
      doubted: (sure[Math.floor(sure.length / 2)] ?? 0) < DOUBTED_BELOW,
      strands: own,
    };
  });
  return branches.sort((a, b) => rateOfAll(b.strands) - rateOfAll(a.strands));
}

function looseBranch(
  kind: Branch['kind'],
  bus: string,
  strands: readonly Strand[],
  title: string,
  words: string,
): Branch[] {
  if (strands.length === 0) return [];
  return [{ kind, bus, group: null, title, named: true, words, doubted: false, strands: [...strands].sort(byId) }];
}

function branchesOf(bus: string, strands: readonly Strand[], survey: LoomSource): Branch[] {
  const sent = strands.filter(({ frame }) => frame.direction === 'sent');
  const received = strands.filter(({ frame }) => frame.direction === 'received');
  const copies = received.filter(({ frame }) => frame.copyOf && !frame.byHand);
  const unknown = received.filter(({ frame, group }) => group === null && (!frame.copyOf || frame.byHand));
  const sources = [...new Set(copies.map(({ frame }) => frame.copyOf?.bus ?? ''))].sort();
  return [
    ...senderBranches(bus, received, survey),
    ...sources.flatMap((source) => {
      const own = copies.filter(({ frame }) => frame.copyOf?.bus === source);
      return looseBranch('copies', bus, own, `copied from ${source}`, 'by a gateway');
    }),
    ...looseBranch('unknown', bus, unknown, 'unknown sender', ''),
    ...looseBranch('sent', bus, sent, 'sent by the logger', ''),
  ];
}

const kilobits = (rate: number): string => (rate >= 1e6 ? `${rate / 1e6} Mbit/s` : `${rate / 1e3} kbit/s`);

function busWords({ bitrate, load }: Pick<SurveyBus, 'bitrate' | 'load'>): string {
  const parts = [
    bitrate ? kilobits(bitrate) : 'bit rate not given',
    load === null ? '' : `load ${(load * 100).toFixed(0)} %`,
  ];
  return parts.filter(Boolean).join(', ');
}

const NICE = [1, 1.5, 2, 2.5, 4, 5, 6, 8, 10];

/** Full scale of jitter bars: round, and not stretched by a few identifiers that are far looser than the rest. */
export function jitterScale(jittersMs: readonly number[]): number {
  const sorted = [...jittersMs].filter((ms) => ms > 0).sort((a, b) => a - b);
  const most = sorted[sorted.length - 1];
  if (most === undefined) return 1;
  const usual = sorted[Math.floor(0.9 * (sorted.length - 1))] as number;
  const wanted = most > 4 * usual ? 2 * usual : most;
  const power = 10 ** Math.floor(Math.log10(wanted));
  return power * (NICE.find((step) => step * power >= wanted * 0.999) ?? 10);
}

/** What of a survey the loom is made of: a map that tells as much has a loom too. */
export type LoomSource = Pick<Survey, 'frames' | 'groups'> & {
  readonly capture: Pick<Survey['capture'], 'durationS'>;
  readonly buses: readonly Pick<SurveyBus, 'name' | 'bitrate' | 'dataBitrate' | 'load'>[];
};

/** The loom of a survey whose senders are settled; buses as the survey has them, without those that are empty. */
export function loomOf(survey: LoomSource, nameOf: NameOf): Loom {
  const { durationS } = survey.capture;
  const strands = survey.frames.map((frame) => strandOf(frame, durationS, nameOf));
  const received = strands.filter(({ frame }) => frame.direction === 'received');
  return {
    buses: survey.buses
      .map((bus) => ({
        name: bus.name,
        words: busWords(bus),
        branches: branchesOf(
          bus.name,
          strands.filter(({ stream }) => stream.bus === bus.name),
          survey,
        ),
      }))
      .filter(({ branches }) => branches.length > 0),
    jitterMs: jitterScale(received.flatMap(({ jitterMs }) => (jitterMs === null ? [] : [jitterMs]))),
    identifiers: received.length,
    senders: survey.groups.length,
  };
}

/** In the order in which they stand, top to bottom. */
export const strandsOf = ({ buses }: Loom): Strand[] =>
  buses.flatMap(({ branches }) => branches.flatMap(({ strands }) => strands));
