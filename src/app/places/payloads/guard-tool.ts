/** The rule of the guard held, as it is being changed: its form, its steps back, and what the capture says of it. */
import { useEffect, useMemo, useState } from 'react';
import { create } from 'zustand';
import { bitPositions, type Placement } from '../../../frames/bits.ts';
import { streamName, type StreamKey } from '../../../frames/table.ts';
import type { GuardCheck, GuardQuestion } from '../../../jobs/engine-types.ts';
import { placeWords } from '../../../fields/place-words.ts';
import { placementKey } from '../../pictures/bands-words.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useReadyEngine } from '../../stores/finding.ts';
import { fingerprint } from '../../stores/findings.ts';
import { useQuestion } from '../../stores/questions.ts';
import { useView } from '../../stores/view.ts';
import {
  checksumForm,
  checksumRule,
  counterForm,
  counterRule,
  freeChecksum,
  freeCounter,
  type ChecksumForm,
  type CounterForm,
  type GuardForm,
  type Problems,
} from './guard-form.ts';
import { keepRule, type HandRule } from './decisions.ts';
import type { Held } from './held.ts';
import { usePayloads } from './store.ts';

interface Changed {
  readonly form: GuardForm;
  readonly before: readonly GuardForm[];
  /** The row changed last: typing on in one row is one step back. */
  readonly row: string;
}

/** What was changed at each guard, until the page is closed; never more than the person looks at. */
const useChanges = create<{
  readonly changes: Readonly<Record<string, Changed>>;
  /** Bits without a guard that a rule is tried on, by their key. */
  readonly tries: Readonly<Record<string, 'checksum' | 'counter'>>;
}>(() => ({ changes: {}, tries: {} }));

const TYPED_ROWS = new Set(['poly', 'init', 'xorout', 'before', 'after', 'byte', 'bit', 'bits', 'step', 'modulus']);

function put(key: string, changed: Changed | null): void {
  const { [key]: _gone, ...others } = useChanges.getState().changes;
  useChanges.setState({ changes: changed ? { ...others, [key]: changed } : others });
}

const holdsKey = (held: Held): string | null =>
  held.stream && held.placement
    ? `${streamName(held.stream)} ${placementKey(held.placement, held.band?.when ?? null)}`
    : null;

/** The finder's rule on the bits held, of the page held. */
function foundForm({ findings, band }: Held): GuardForm | null {
  if (!findings || !band) return null;
  const place = placementKey(band.placement, band.when);
  const checksum = findings.checksums.find((one) => placementKey(one, one.when) === place);
  if (band.glyph === 'dots' && checksum) return checksumForm(checksum);
  const counter = findings.counters.find((one) => placementKey(one, one.when) === place);
  return band.glyph === 'ticks' && counter ? counterForm(counter) : null;
}

function freeForm(held: Held, kind: 'checksum' | 'counter' | undefined, bytes: number): GuardForm | null {
  const { placement } = held;
  if (!kind || !placement) return null;
  if (kind === 'counter') return counterForm(freeCounter(placement));
  const own = new Set(bitPositions(placement).map((bit) => bit >> 3));
  const free = { ...freeChecksum(placement, bytes, own), when: held.band?.when ?? null };
  return checksumForm(free);
}

export interface GuardTool {
  readonly key: string;
  readonly stream: StreamKey;
  readonly bytes: number;
  /** null: no rule is held here yet. */
  readonly form: GuardForm | null;
  readonly found: boolean;
  /** Whether the rule found is one that was kept by hand. */
  readonly byHand: boolean;
  readonly stepsBack: number;
  /** [bytes * 8] share of frames between which each bit changes; empty before the finders have looked. */
  readonly changeShare: readonly number[];
  change<Form extends ChecksumForm | CounterForm>(row: string, part: Partial<Form>): void;
  undo(): void;
  reset(): void;
  tryAs(kind: 'checksum' | 'counter' | null): void;
  /** Makes the rule as it stands a decision of the person's; null where it is none to keep. */
  readonly keep: (() => void) | null;
}

/** Lets go of what was changed or tried at a place. */
function forget(key: string): void {
  put(key, null);
  const { [key]: _gone, ...tries } = useChanges.getState().tries;
  useChanges.setState({ tries });
}

const ruleOf = (form: GuardForm, bytes: number): HandRule | null => {
  if (form.guard === 'counter') {
    const { rule } = counterRule(form, bytes);
    return rule && { counter: rule };
  }
  const { rule } = checksumRule(form);
  return rule && { checksum: rule };
};

/** Null where the form is no rule. */
function keeper({ frame, placement }: Held, form: GuardForm, bytes: number, done: () => void): (() => void) | null {
  const rule = ruleOf(form, bytes);
  if (!rule || !frame || !placement) return null;
  const own = ('counter' in rule ? rule.counter : rule.checksum) as Placement;
  return () => {
    useDossier
      .getState()
      .change(`keep the rule of ${placeWords(own)}`, (dossier) => keepRule(dossier, frame, rule, placement));
    done();
    usePayloads.getState().set({ sweep: null, bandKey: null });
    const { lsb, length, order, continues } = own;
    useView.getState().select({ placement: { lsb, length, order, ...(continues?.length ? { continues } : {}) } });
  };
}

const LONGEST_TRIED = 64;

/** null where nothing is held that could be a guard. */
export function useGuardTool(held: Held): GuardTool | null {
  const { stream, placement, findings, band } = held;
  const key = holdsKey(held);
  const changed = useChanges(({ changes }) => (key ? changes[key] : undefined));
  const kind = useChanges(({ tries }) => (key ? tries[key] : undefined));
  const bytes = Math.max(stream?.length ?? 0, findings?.bits.bytes ?? 0);
  const found = useMemo(() => foundForm(held), [held]);
  const start = useMemo(() => found ?? freeForm(held, kind, bytes), [found, held, kind, bytes]);
  return useMemo(() => {
    if (!key || !stream || !placement || bytes === 0) return null;
    if (!found && (bitPositions(placement).length > LONGEST_TRIED || band?.refused || band?.pages.length)) return null;
    const current: Changed | null = changed?.form.guard === start?.guard ? (changed ?? null) : null;
    const form = start && (current?.form ?? start);
    return {
      key,
      stream,
      bytes,
      form,
      found: found !== null,
      byHand: found !== null && (band?.byHand ?? false),
      stepsBack: current?.before.length ?? 0,
      changeShare: findings?.bits.changeShare ?? [],
      change(row, part) {
        if (!form) return;
        const goesOn = current?.row === row && TYPED_ROWS.has(row);
        const before = current?.before ?? [];
        put(key, { form: { ...form, ...part } as GuardForm, before: goesOn ? before : [...before, form], row });
      },
      undo() {
        const last = current?.before.at(-1);
        if (last) put(key, { form: last, before: current?.before.slice(0, -1) ?? [], row: '' });
      },
      keep: form && (!found || current) ? keeper(held, form, bytes, () => forget(key)) : null,
      reset: () => put(key, null),
      tryAs(as) {
        forget(key);
        if (as) useChanges.setState({ tries: { ...useChanges.getState().tries, [key]: as } });
      },
    };
  }, [held, key, stream, placement, band, bytes, found, start, changed, findings]);
}

const NO_PROBLEMS: Problems = {};

/** The question that the form asks; null with what is wrong in it. */
function questionOf(held: Held, tool: GuardTool | null): { question: GuardQuestion | null; problems: Problems } {
  const form = tool?.form;
  if (!tool || !form) return { question: null, problems: NO_PROBLEMS };
  const selectors = [...(held.findings?.selectors ?? [])];
  if (form.guard === 'counter') {
    const { rule, problems } = counterRule(form, tool.bytes);
    return { question: rule && { guard: 'counter', rule, around: { selectors } }, problems: problems ?? NO_PROBLEMS };
  }
  const { rule, problems } = checksumRule(form);
  const counters = [...(held.findings?.counters ?? [])];
  return {
    question: rule && { guard: 'checksum', rule, around: { counters, selectors } },
    problems: problems ?? NO_PROBLEMS,
  };
}

/** While one types a number, what stands there in between is nobody's question. */
const SETTLE_MS = 120;

function useSettled<T>(value: T): T {
  const [settled, setSettled] = useState(value);
  useEffect(() => {
    const timer = setTimeout(() => setSettled(value), SETTLE_MS);
    return () => clearTimeout(timer);
  }, [value]);
  return settled;
}

export interface GuardAnswer {
  readonly problems: Problems;
  /** Of this guard; while `pending`, of the rule before. */
  readonly check: GuardCheck | null;
  readonly pending: boolean;
  readonly problem: string | null;
}

export function useGuardAnswer(held: Held, tool: GuardTool | null): GuardAnswer {
  const ready = useReadyEngine();
  const { question, problems } = useMemo(() => questionOf(held, tool), [held, tool]);
  const asked = useMemo(
    () => (ready && tool && question ? `${ready.identity} ${tool.key} ${fingerprint(question)}` : null),
    [ready, tool, question],
  );
  const settled = useSettled(asked);
  const current = settled === asked;
  const answer = useQuestion(asked === null ? null : settled, async () => {
    if (!ready || !tool || !question) throw new Error('nothing was asked');
    return { key: tool.key, check: await ready.engine.guardCheck(tool.stream, question) };
  });
  const check = answer.value?.key === tool?.key ? (answer.value?.check ?? null) : null;
  return {
    problems,
    check: asked === null ? null : check,
    pending: asked !== null && (answer.pending || !current),
    problem: answer.problem,
  };
}
