/**
 * Ready, driving and charging out of marks. People word marks freely, so words are looked for, not fixed names: the plug and the charging
 * cable; the selector and its letters; the accelerator; the key and what it was turned to. Each mark sets what it speaks of (instants until
 * another mark says otherwise, spans as long as they last), and the mode follows: plugged in is charging, else an engaged selector or a
 * pressed accelerator is driving, else a key at start is ready. What no mark speaks of stays without a name.
 */
import type { ModeMark } from './types.ts';

export interface MarkedSpan {
  readonly mode: 'on' | 'ready' | 'driving' | 'charging';
  readonly fromS: number;
  /** Infinity where no later mark ends it. */
  readonly toS: number;
  /** The mark that set it, as the person wrote it. */
  readonly because: string;
}

type Topic = 'plug' | 'selector' | 'accelerator' | 'key';

interface Said {
  readonly topic: Topic;
  /** For the plug: in or out; the selector: engaged or not; the accelerator: pressed; the key: off, on or ready. */
  readonly state: 'off' | 'on' | 'ready';
}

const LEAVES = /\b(un\w+|out|off|stop\w*|end\w*|finish\w*|removed?|pulled|disconnect\w*|released?)\b/;
const PLUG = /\b(plug\w*|unplug\w*|charg\w*|inlet|wall ?box|mains|evse)\b/;
/** A plug of a module or a lid is no charging. */
const OTHER_PLUG = /\b(inverter|module|unit|controller|sensor|battery plug|lid|flap|door|lamp|limit)\b/;
const SELECTOR = /\b(selector|gear\w*|shift\w*|lever|range|drive mode)\b/;
const ENGAGED = /\b(d|r|b|l|s|drive|reverse|forward|forwards|backwards)\b/;
const NOT_ENGAGED = /\b(p|n|park\w*|neutral)\b/;
const ACCELERATOR =
  /\b(accelerat\w*|throttle|kickdown|driv(e|es|ing|en)|drove|pull(ed|ing)? away|set(ting)? off|moving|rolling)\b/;
const KEY = /\b(key\w*|ignition|contact|start(er)?|power|vehicle|car|system|terminal 15|ready)\b/;
const READY = /\b(ready|start\w*|run\w*|crank\w*)\b/;

function readPlug(words: string): Said | null {
  if (!PLUG.test(words) || OTHER_PLUG.test(words)) return null;
  return { topic: 'plug', state: LEAVES.test(words) ? 'off' : 'on' };
}

function readSelector(words: string, value: string): Said | null {
  const named = SELECTOR.test(words);
  const bare = /^[prndbls]$/.test(value);
  if (!named && !bare) return null;
  const where = value || words;
  if (NOT_ENGAGED.test(where)) return { topic: 'selector', state: 'off' };
  return ENGAGED.test(where) ? { topic: 'selector', state: 'on' } : null;
}

function readKey(words: string, value: string): Said | null {
  if (!KEY.test(words) && !READY.test(value)) return null;
  if (/^(off|0|out|stop|lock)$/.test(value) || (!value && LEAVES.test(words))) return { topic: 'key', state: 'off' };
  const told = value || words;
  if (READY.test(told)) return { topic: 'key', state: 'ready' };
  return /\b(on|1|2|acc\w*|turned|run)\b/.test(told) ? { topic: 'key', state: 'on' } : null;
}

/** What a mark speaks of; null where it says nothing of the vehicle's mode. */
export function readMark({ action, value = '' }: ModeMark): Said | null {
  const told = value.trim().toLowerCase();
  const words = `${action} ${value}`.toLowerCase().replace(/[_\-/.,;:]+/g, ' ');
  const brakes = /\bbrak\w*/.test(words);
  return (
    readPlug(words) ??
    readSelector(words, told) ??
    (ACCELERATOR.test(words) && !brakes && !LEAVES.test(words) ? { topic: 'accelerator', state: 'on' } : null) ??
    (brakes ? null : readKey(words, told))
  );
}

interface Event {
  readonly atS: number;
  readonly topic: Topic;
  readonly state: Said['state'];
  readonly because: string;
}

const wordsOf = ({ action, value }: ModeMark): string => (value ? `${action}: ${value}` : action);

/** A span of the plug ends with it; a span of the accelerator leaves the vehicle driving until another mark says otherwise. */
function eventsOf(marks: readonly ModeMark[]): Event[] {
  const events = marks.flatMap((mark): Event[] => {
    const said = readMark(mark);
    if (!said) return [];
    const because = wordsOf(mark);
    const start = { atS: mark.startS, ...said, because };
    const ends = said.topic === 'plug' && said.state === 'on' && mark.endS !== null;
    return ends
      ? [start, { atS: mark.endS as number, topic: 'plug', state: 'off', because: `end of ${because}` }]
      : [start];
  });
  return events.sort((a, b) => a.atS - b.atS);
}

type Known = Readonly<Record<Topic, Said['state'] | null>>;

function modeOf({ plug, selector, accelerator, key }: Known): MarkedSpan['mode'] | null {
  if (plug === 'on') return 'charging';
  if (key === 'off') return null;
  if (selector === 'on' || (accelerator === 'on' && selector !== 'off')) return 'driving';
  if (key === 'ready') return 'ready';
  return key === 'on' ? 'on' : null;
}

/** What a mark settles besides its own topic. */
function settle(known: Known, { topic, state }: Event): Known {
  const next = { ...known, [topic]: state };
  if (topic === 'key' && state === 'off') return { ...next, accelerator: null, selector: null };
  if (topic === 'selector' && state === 'off') return { ...next, accelerator: null, key: next.key ?? 'on' };
  // Who drives has started: without a mark of the key, leaving the gear leaves the vehicle ready.
  if (topic === 'selector' || topic === 'accelerator') return { ...next, key: 'ready' };
  return next;
}

/** Spans of marked modes in time order, without overlap. @param marks on the capture's clock */
export function markedSpans(marks: readonly ModeMark[]): MarkedSpan[] {
  const spans: MarkedSpan[] = [];
  let known: Known = { plug: null, selector: null, accelerator: null, key: null };
  let mode: MarkedSpan['mode'] | null = null;
  for (const event of eventsOf(marks)) {
    known = settle(known, event);
    const next = modeOf(known);
    if (next === mode) continue;
    const last = spans.at(-1);
    if (last && last.toS === Infinity) spans[spans.length - 1] = { ...last, toS: event.atS };
    if (next) spans.push({ mode: next, fromS: event.atS, toS: Infinity, because: event.because });
    mode = next;
  }
  return spans.filter(({ fromS, toS }) => toS > fromS);
}
