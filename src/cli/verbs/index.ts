/** The verbs, in the order of the job. */
import type { Verb } from '../verb.ts';
import { bench } from './bench.ts';
import { compare } from './compare.ts';
import { decode } from './decode.ts';
import { demo } from './demo.ts';
import { draft } from './draft.ts';
import { excerpt } from './excerpt.ts';
import { fields } from './fields.ts';
import { fit } from './fit.ts';
import { handover } from './handover.ts';
import { link } from './link.ts';
import { merge } from './merge.ts';
import { prove } from './prove.ts';
import { publish } from './publish.ts';
import { survey } from './survey.ts';

export const VERBS: readonly Verb[] = [
  survey,
  fields,
  link,
  fit,
  draft,
  decode,
  prove,
  compare,
  merge,
  handover,
  excerpt,
  bench,
  publish,
  demo,
];
