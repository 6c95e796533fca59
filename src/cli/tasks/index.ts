/** The catalogue of tasks behind the verbs: what each takes and gives. Requests and answers are plain data. */
import { benchTask } from './bench.ts';
import { compareTask } from './compare.ts';
import { decodeTask } from './decode.ts';
import { demoTask } from './demo.ts';
import { draftTask } from './draft.ts';
import { excerptTask } from './excerpt.ts';
import { fieldsTask } from './fields.ts';
import { fitTask } from './fit.ts';
import { linkShortTask } from './link-short.ts';
import { linkTask } from './link.ts';
import { needsTask } from './needs.ts';
import { proveTask } from './prove.ts';
import { publishTask } from './publish.ts';
import { sufficesTask } from './suffices.ts';
import { surveyTask } from './survey.ts';

export const TASKS = {
  survey: surveyTask,
  fields: fieldsTask,
  link: linkTask,
  linkShort: linkShortTask,
  fit: fitTask,
  draft: draftTask,
  suffices: sufficesTask,
  decode: decodeTask,
  needs: needsTask,
  excerpt: excerptTask,
  prove: proveTask,
  compare: compareTask,
  bench: benchTask,
  publish: publishTask,
  demo: demoTask,
};

export type TaskName = keyof typeof TASKS;
export type TaskRequests = { [Name in TaskName]: Parameters<(typeof TASKS)[Name]>[0] };
export type TaskAnswers = { [Name in TaskName]: Awaited<ReturnType<(typeof TASKS)[Name]>> };
