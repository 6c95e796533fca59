/**
 * Whether the lines that a reader refused are a recording of another kind: two files of different
 * shapes put one behind the other. Judged by the refused lines that were kept.
 */
import type { Problem } from '../../kit/outcome.ts';
import { runSteps } from '../pictures/steps.ts';
import { chooseReader, type Choice } from './choose.ts';
import type { Ledger } from './ledger.ts';

const LEAST_LINES = 10;
const LEAST_SHARE = 0.05;
const SURE = 0.9;

export function warnOfOtherKind(ledger: Ledger, taken: Choice, file: string): Problem | null {
  const { accepted, rejected, rejects } = ledger;
  if (rejects.length < LEAST_LINES || rejected < (accepted + rejected) * LEAST_SHARE) return null;
  const lines = rejects.map(({ text }) => text);
  const sample = { name: file, head: new Uint8Array(0), lines, deepLines: [] };
  const other = runSteps(chooseReader(sample, { columns: null, zoneS: 0 }));
  if ('problem' in other || other.judgement.score < SURE || shapeOf(other) === shapeOf(taken)) return null;
  const line = rejects[0]?.line ?? 0;
  return {
    code: 'two-kinds-in-one-file',
    message: `${rejected} lines were refused, the first at line ${line}; those looked at are ${other.reader.title}, while the file was read as ${taken.reader.title}.`,
    advice: 'Split the file where the kind changes and give the parts as files of one capture.',
    place: { file, line },
  };
}

/** The reader, and of a table what separates its columns. */
const shapeOf = ({ reader, judgement }: Choice): string => `${reader.name} ${judgement.columns?.split(';')[0] ?? ''}`;
