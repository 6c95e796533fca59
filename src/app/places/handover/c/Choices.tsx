/** How the C is written: each choice says what it costs. */
import { useId, useState, type ReactNode } from 'react';
import { chooseCode, MOST_FILTERS, PREFIX, useCodeChoices, type CodeChoices } from '../choices.ts';

interface Choice<Key extends keyof CodeChoices> {
  readonly key: Key;
  readonly title: string;
  readonly options: readonly (readonly [CodeChoices[Key], string])[];
  /** Of the option that is chosen. */
  readonly says: Readonly<Record<string, string>>;
}

const SCALING: Choice<'scaling'> = {
  key: 'scaling',
  title: 'Values',
  options: [
    ['float', 'floating'],
    ['integer', 'integers'],
  ],
  says: { float: 'as double, in the unit', integer: 'in steps named in the header; no floating point' },
};
const CRC: Choice<'crc'> = {
  key: 'crc',
  title: 'Checksums',
  options: [
    ['bitwise', 'bit by bit'],
    ['table', 'by tables'],
  ],
  says: { bitwise: 'small, eight steps a byte', table: 'quick, 256 entries a rule' },
};
const RANGES: Choice<'ranges'> = {
  key: 'ranges',
  title: 'Encoder keeps to',
  options: [
    ['observed', 'what was observed'],
    ['allowed', 'what is allowed'],
  ],
  says: { observed: 'nothing beyond the recording', allowed: 'where the map says so, by hand' },
};

export function Choices(): ReactNode {
  return (
    <div className="handover-choices">
      <Switch choice={SCALING} />
      <Switch choice={CRC} />
      <Switch choice={RANGES} />
      <Filters />
      <Prefix />
    </div>
  );
}

function Switch<Key extends 'scaling' | 'crc' | 'ranges'>({ choice }: { choice: Choice<Key> }): ReactNode {
  const { key, title, options, says } = choice;
  const now = useCodeChoices()[key];
  return (
    <div>
      <span className="handover-choice-title">{title}</span>
      <span className="switch" role="group" aria-label={title}>
        {options.map(([value, words]) => (
          <button
            key={String(value)}
            type="button"
            aria-pressed={now === value}
            onClick={() => chooseCode(`${title.toLowerCase()} in C: ${words}`, { [key]: value })}
          >
            {words}
          </button>
        ))}
      </span>
      <span className="tiny dim">{says[String(now)]}</span>
    </div>
  );
}

function Filters(): ReactNode {
  const { filters } = useCodeChoices();
  const id = useId();
  const choose = (text: string): void => {
    if (text.trim() === '') return chooseCode('a receive filter an identifier', { filters: null });
    const n = Number(text);
    if (Number.isInteger(n) && n >= 1 && n <= MOST_FILTERS) chooseCode(`${n} receive filters`, { filters: n });
  };
  return (
    <div>
      <label className="handover-choice-title" htmlFor={id}>
        Receive filters
      </label>
      <input
        id={id}
        className="field handover-number"
        type="number"
        min={1}
        max={MOST_FILTERS}
        placeholder="all"
        defaultValue={filters ?? ''}
        key={filters}
        onBlur={({ target: { value } }) => value !== String(filters ?? '') && choose(value)}
        onKeyDown={({ key, currentTarget }) => key === 'Enter' && currentTarget.blur()}
      />
      <span className="tiny dim">{filters === null ? 'one an identifier' : 'a bus and kind of identifier'}</span>
    </div>
  );
}

function Prefix(): ReactNode {
  const { prefix } = useCodeChoices();
  const [typed, setTyped] = useState<string | null>(null);
  const id = useId();
  const shown = typed ?? prefix;
  const isName = PREFIX.test(shown);
  return (
    <div>
      <label className="handover-choice-title" htmlFor={id}>
        Before every name
      </label>
      <input
        id={id}
        className="field mono handover-prefix"
        value={shown}
        spellCheck={false}
        autoComplete="off"
        aria-invalid={!isName}
        onChange={({ target: { value } }) => {
          setTyped(value);
          if (PREFIX.test(value)) chooseCode('name the C', { prefix: value.toLowerCase() }, 'prefix');
        }}
        onBlur={() => setTyped(null)}
      />
      <span className="tiny dim">{isName ? `${shown.toLowerCase()}_…` : 'a letter first; letters, digits and _'}</span>
    </div>
  );
}
