/** Beside the guard held: how many of all frames of the identifier its rule passes, when the first did not, and the rule to change. */
import { useState, type KeyboardEvent, type ReactNode } from 'react';
import type { ChecksumCheck, CounterCheck, GuardCheck } from '../../../jobs/engine-types.ts';
import { useView } from '../../stores/view.ts';
import { clock, count, percent, plural } from '../../../kit/sheet-figures.ts';
import { GuardRows } from './GuardRows.tsx';
import { useGuardAnswer, useGuardTool, type GuardAnswer, type GuardTool } from './guard-tool.ts';
import type { Held } from './held.ts';
import { GUARD, keepFocus } from './keep-focus.ts';

/** What a button of this part does, after which the button may be gone. */
function actAndStay(act: (() => void) | null): void {
  act?.();
  keepFocus(GUARD);
}

export function GuardPart({ held }: { held: Held }): ReactNode {
  const tool = useGuardTool(held);
  const answer = useGuardAnswer(held, tool);
  if (!tool) return null;
  if (!tool.form) return <TryPart tool={tool} />;
  return <RulePart key={tool.key} tool={tool} answer={answer} />;
}

/** Bits that no finder took for a guard: what they could be tried as. */
function TryPart({ tool }: { tool: GuardTool }): ReactNode {
  return (
    <section className="panel-part payloads-guard">
      <h3>Could this be a guard?</h3>
      <p className="dim small">Try a rule on these bits against every frame of the identifier.</p>
      <p className="payloads-guard-acts">
        <button type="button" className="button" onClick={() => actAndStay(() => tool.tryAs('checksum'))}>
          Try as a checksum
        </button>
        <button type="button" className="button" onClick={() => actAndStay(() => tool.tryAs('counter'))}>
          Try as a counter
        </button>
      </p>
    </section>
  );
}

function stateWords({ found, byHand, stepsBack, form }: GuardTool): string {
  if (!found) return 'a try by hand';
  if (stepsBack > 0) return 'changed by hand, not kept yet';
  if (byHand) return 'kept by hand';
  return form?.guard === 'checksum' && !form.method ? 'rule not found' : 'as found';
}

function RulePart({ tool, answer }: { tool: GuardTool; answer: GuardAnswer }): ReactNode {
  const unsolved = tool.form?.guard === 'checksum' && tool.form.base.method === 'unsolved';
  const [open, setOpen] = useState(!tool.found || unsolved || tool.stepsBack > 0);
  const onKeyDown = (event: KeyboardEvent): void => {
    const typing = event.target instanceof HTMLInputElement;
    if (typing || event.key !== 'z' || !(event.ctrlKey || event.metaKey) || tool.stepsBack === 0) return;
    event.preventDefault();
    event.stopPropagation();
    tool.undo();
  };
  return (
    <section className="panel-part payloads-guard" onKeyDown={onKeyDown}>
      <h3>
        Held against all frames <small>{stateWords(tool)}</small>
      </h3>
      <Verdict answer={answer} />
      <p className="payloads-guard-acts">
        <button type="button" className="button" aria-expanded={open} onClick={() => setOpen(!open)}>
          {open ? 'Close the rule' : 'Change the rule'}
        </button>
        {tool.keep && answer.check && (
          <button
            type="button"
            className={`button ${allPass(answer.check) ? 'go' : ''}`}
            onClick={() => actAndStay(tool.keep)}
          >
            Keep this rule
          </button>
        )}
        {tool.stepsBack > 0 && (
          <>
            <button type="button" className="button" onClick={() => actAndStay(() => tool.undo())}>
              Undo
            </button>
            <button type="button" className="button" onClick={() => actAndStay(() => tool.reset())}>
              {tool.byHand ? 'As kept' : tool.found ? 'As found' : 'From the start'}
            </button>
          </>
        )}
        {!tool.found && (
          <button type="button" className="button" onClick={() => actAndStay(() => tool.tryAs(null))}>
            Let go of the try
          </button>
        )}
      </p>
      {open && <GuardRows tool={tool} problems={answer.problems} />}
    </section>
  );
}

function Verdict({ answer }: { answer: GuardAnswer }): ReactNode {
  const { check, pending, problem, problems } = answer;
  const [wrong] = Object.values(problems);
  return (
    <div className={`payloads-guard-verdict ${pending ? 'outdated' : ''}`} role="status" aria-busy={pending}>
      {wrong && <p className="dim small">Not held against the frames yet. {wrong}</p>}
      {!wrong && problem && (
        <p className="small">The frames could not be asked: {problem}. Change the rule to ask again.</p>
      )}
      {!wrong && !problem && !check && <p className="dim small">Asking every frame …</p>}
      {!wrong && check && <Figures check={check} />}
    </div>
  );
}

function asked(check: Exclude<GuardCheck, { guard: 'not-computable' }>): readonly [passed: number, all: number] {
  return check.guard === 'checksum' ? [check.passed, check.checked] : [check.followOn, check.pairs];
}

/** Only a rule that no frame speaks against is offered in full ink. */
function allPass(check: GuardCheck): boolean {
  if (check.guard === 'not-computable') return false;
  const [passed, all] = asked(check);
  return all > 0 && passed === all;
}

function Figures({ check }: { check: GuardCheck }): ReactNode {
  if (check.guard === 'not-computable')
    return (
      <p className="dim small">This rule cannot be computed: it lacks what it covers, or lies outside the payload.</p>
    );
  const [passed, all] = asked(check);
  if (all === 0)
    return <p className="dim small">No frame could be asked: none is on this page and long enough for the rule.</p>;
  const notes = (check.guard === 'checksum' ? checksumNotes(check) : counterNotes(check)).join(' ');
  return (
    <>
      <p className="payloads-guard-figure">
        <b className="figure">{count(passed)}</b> of {count(all)} frames{' '}
        {check.guard === 'checksum' ? 'pass' : 'follow on'}
        {passed > 0 && passed < all && <span className="dim"> ({shareWords(passed, all)})</span>}
      </p>
      <span className="payloads-guard-bar" aria-hidden="true">
        <i style={{ width: `${(100 * passed) / all}%` }} />
      </span>
      {notes && <p className="dim small">{notes}</p>}
      <Moments moments={check.moments} failed={all - passed} />
    </>
  );
}

/** Never "100 %" where one failed, never "0 %" where one passed. */
function shareWords(passed: number, all: number): string {
  const share = passed / all;
  if (share > 0.9995) return 'over 99.9 %';
  return passed > 0 && share < 0.0005 ? 'under 0.1 %' : percent(share, 1);
}

function checksumNotes({ passed, checked, byChance, fewPayloads, unchecked, otherPage }: ChecksumCheck): string[] {
  const oneIn = Math.round(1 / byChance);
  return [
    passed < checked ? `By chance about one frame in ${count(oneIn)} would pass.` : '',
    fewPayloads === null
      ? ''
      : `Only ${plural(fewPayloads, 'different payload')}: too few to tell a right rule from a lucky one.`,
    unchecked > 0 ? `${plural(unchecked, 'frame is', 'frames are')} too short for it, or beyond its tables.` : '',
    otherPage > 0 ? `${plural(otherPage, 'frame')} on other pages not asked.` : '',
  ].filter(Boolean);
}

function counterNotes({ repeats, skips, lost, outOfRange, otherPage }: CounterCheck): string[] {
  return [
    `${plural(repeats, 'repeat')}, ${plural(skips, 'skip')}.`,
    lost > 0 ? `${plural(lost, 'frame')} lost by the log, where the silence is long enough.` : '',
    outOfRange > 0 ? `${plural(outOfRange, 'value lies', 'values lie')} beyond the modulus.` : '',
    otherPage > 0 ? `${plural(otherPage, 'frame')} on other pages not asked.` : '',
  ].filter(Boolean);
}

const MOMENTS_SHOWN = 4;

function Moments({ moments, failed }: { moments: readonly number[]; failed: number }): ReactNode {
  if (moments.length === 0) return null;
  const go = (atS: number): void => {
    const view = useView.getState();
    view.setCursor(atS);
    view.reveal(atS);
  };
  return (
    <p className="payloads-guard-moments small">
      <span className="dim">{failed > MOMENTS_SHOWN ? 'The first that fail, each on the ruler:' : 'Fails at:'}</span>
      {moments.slice(0, MOMENTS_SHOWN).map((atS) => (
        <button key={atS} type="button" className="button plain" onClick={() => go(atS)}>
          {clock(atS)}
        </button>
      ))}
    </p>
  );
}
