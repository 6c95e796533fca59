/** The rule of a guard in rows, each with what is wrong in it. Everything is reached by Tab; bytes are one stop, arrows move. */
import { useId, useRef, useState, type KeyboardEvent, type ReactNode } from 'react';
import { bitPositions } from '../../../frames/bits.ts';
import { coversOf, METHODS, usesRow, type ChecksumForm, type CounterForm, type Problems } from './guard-form.ts';
import type { GuardTool } from './guard-tool.ts';
import { stillWords } from './guard-words.ts';
import { otherOrder } from './sweep.ts';

interface RowsProps {
  readonly tool: GuardTool;
  readonly problems: Problems;
}

export function GuardRows({ tool, problems }: RowsProps): ReactNode {
  const { form } = tool;
  if (!form) return null;
  return (
    <div className="payloads-guard-rows">
      {form.guard === 'checksum' ? (
        <ChecksumRows tool={tool} form={form} problems={problems} />
      ) : (
        <CounterRows tool={tool} form={form} problems={problems} />
      )}
    </div>
  );
}

type Change<Form> = (part: Partial<Form>) => void;

function ChecksumRows({ tool, form, problems }: RowsProps & { form: ChecksumForm }): ReactNode {
  const change: Change<ChecksumForm> = (part) => tool.change<ChecksumForm>(Object.keys(part)[0] ?? '', part);
  const { method, placement, base } = form;
  const text = (row: 'poly' | 'init' | 'xorout' | 'before' | 'after', label: string, hint = ''): ReactNode => (
    <TextRow
      label={label}
      value={form[row]}
      hint={hint}
      problem={problems[row]}
      onType={(typed) => change({ [row]: typed })}
    />
  );
  const ordered = !placement.continues?.length && otherOrder(placement) !== placement;
  const tables = (base.prefixByCounter?.length ?? 0) + (base.suffixByCounter?.length ?? 0) > 0;
  return (
    <>
      <ChoiceRow label="Method" choices={METHODS} chosen={method} onChoose={(chosen) => change({ method: chosen })} />
      {method && (
        <>
          {usesRow(method, 'poly') && text('poly', 'Polynomial')}
          {usesRow(method, 'init') && text('init', 'Initial value')}
          {text('xorout', 'Final xor')}
          {usesRow(method, 'reflect') && (
            <LabelRow label="Reflected">
              <span className="payloads-guard-pair">
                <Toggle on={form.refin} onTurn={(refin) => change({ refin })} words="input" />
                <Toggle on={form.refout} onTurn={(refout) => change({ refout })} words="output" />
              </span>
            </LabelRow>
          )}
          {usesRow(method, 'carry') && (
            <ChoiceRow
              label="Carry"
              choices={['drop', 'end-around']}
              chosen={form.carry}
              onChoose={(carry) => change({ carry })}
            />
          )}
          {usesRow(method, 'unit') && (
            <ChoiceRow
              label="Unit"
              choices={['byte', 'nibble', 'word16le', 'word16be']}
              words={{ word16le: '16 little', word16be: '16 big' }}
              chosen={form.unit}
              onChoose={(unit) => change({ unit })}
            />
          )}
        </>
      )}
      <CoverRow tool={tool} form={form} problem={problems['covers']} onTurn={(covers) => change({ covers })} />
      {method && usesRow(method, 'constants') && (
        <>
          {text('before', 'Bytes before', 'none')}
          {text('after', 'Bytes after', 'none')}
        </>
      )}
      {ordered && (
        <ChoiceRow
          label="Stored"
          choices={['little', 'big']}
          chosen={placement.order}
          onChoose={(order) => order !== placement.order && change({ placement: otherOrder(placement) })}
        />
      )}
      {tables && <p className="dim small">The bytes that its counter picks stay as found.</p>}
    </>
  );
}

function CounterRows({ tool, form, problems }: RowsProps & { form: CounterForm }): ReactNode {
  const rows = [
    ['byte', 'Byte'],
    ['bit', 'Lowest bit'],
    ['bits', 'Bits'],
    ['step', 'Step'],
    ['modulus', 'Modulus'],
  ] as const;
  return rows.map(([row, label]) => (
    <TextRow
      key={row}
      label={label}
      value={form[row]}
      hint=""
      problem={problems[row]}
      onType={(typed) => tool.change<CounterForm>(row, { [row]: typed })}
    />
  ));
}

function LabelRow({ label, children }: { label: string; children: ReactNode }): ReactNode {
  return (
    <div className="payloads-guard-row">
      <span className="dim small">{label}</span>
      {children}
    </div>
  );
}

interface TextRowProps {
  readonly label: string;
  readonly value: string;
  readonly hint: string;
  readonly problem: string | undefined;
  readonly onType: (typed: string) => void;
}

function TextRow({ label, value, hint, problem, onType }: TextRowProps): ReactNode {
  const id = useId();
  return (
    <div className="payloads-guard-row">
      <label className="dim small" htmlFor={id}>
        {label}
      </label>
      <input
        id={id}
        className="field mono"
        value={value}
        placeholder={hint}
        spellCheck={false}
        autoComplete="off"
        aria-invalid={problem !== undefined}
        aria-describedby={problem ? `${id}-wrong` : undefined}
        onChange={(event) => onType(event.target.value)}
      />
      {problem && (
        <p id={`${id}-wrong`} className="small payloads-guard-wrong">
          {problem}
        </p>
      )}
    </div>
  );
}

interface ChoiceRowProps<Choice extends string> {
  readonly label: string;
  readonly choices: readonly Choice[];
  readonly chosen: Choice | null;
  readonly words?: Readonly<Partial<Record<Choice, string>>>;
  readonly onChoose: (choice: Choice) => void;
}

function ChoiceRow<Choice extends string>({
  label,
  choices,
  chosen,
  words,
  onChoose,
}: ChoiceRowProps<Choice>): ReactNode {
  return (
    <LabelRow label={label}>
      <span className="switch" role="group" aria-label={label}>
        {choices.map((choice) => (
          <button
            key={choice}
            type="button"
            aria-pressed={choice === chosen}
            onClick={() => choice !== chosen && onChoose(choice)}
          >
            {words?.[choice] ?? choice}
          </button>
        ))}
      </span>
    </LabelRow>
  );
}

function Toggle({ on, onTurn, words }: { on: boolean; onTurn: (on: boolean) => void; words: string }): ReactNode {
  return (
    <button type="button" className="button payloads-guard-toggle" aria-pressed={on} onClick={() => onTurn(!on)}>
      {words}
    </button>
  );
}

interface CoverProps {
  readonly tool: GuardTool;
  readonly form: ChecksumForm;
  readonly problem: string | undefined;
  readonly onTurn: (covers: readonly number[]) => void;
}

const MOVES: Readonly<Record<string, number>> = { ArrowRight: 1, ArrowLeft: -1, ArrowDown: 8, ArrowUp: -8 };

function CoverRow({ tool, form, problem, onTurn }: CoverProps): ReactNode {
  const [stop, setStop] = useState(0);
  const row = useRef<HTMLDivElement>(null);
  const ownBits = new Set(bitPositions(form.placement));
  const own = new Set([...ownBits].map((bit) => bit >> 3));
  const still = stillWords(coversOf(form), tool.changeShare, ownBits);
  const turn = (byte: number): void => {
    const { covers } = form;
    onTurn(covers.includes(byte) ? covers.filter((one) => one !== byte) : [...covers, byte].sort((a, b) => a - b));
  };
  const onKeyDown = (event: KeyboardEvent): void => {
    const by = MOVES[event.key];
    if (by === undefined) return;
    event.preventDefault();
    event.stopPropagation();
    const to = stop + by;
    if (to < 0 || to >= tool.bytes) return;
    setStop(to);
    row.current?.querySelectorAll('button')[to]?.focus();
  };
  return (
    <div className="payloads-guard-covers">
      <span className="dim small">Covered bytes</span>
      <div ref={row} role="group" aria-label="Covered bytes" className="payloads-guard-bytes" onKeyDown={onKeyDown}>
        {Array.from({ length: tool.bytes }, (_, byte) => (
          <button
            key={byte}
            type="button"
            tabIndex={byte === Math.min(stop, tool.bytes - 1) ? 0 : -1}
            className={own.has(byte) ? 'own' : ''}
            aria-pressed={form.covers.includes(byte)}
            aria-label={own.has(byte) ? `byte ${byte}, holds the checksum: its bits count as zero` : `byte ${byte}`}
            onFocus={() => setStop(byte)}
            onClick={() => turn(byte)}
          >
            {byte}
          </button>
        ))}
      </div>
      {problem && <p className="small payloads-guard-wrong">{problem}</p>}
      {still && (
        <p className="dim small">Never moved in this capture: {still}. What the rule makes of them is not shown.</p>
      )}
    </div>
  );
}
