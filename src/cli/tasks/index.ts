/** The catalogue of tasks behind the verbs: what each takes and gives. Requests and answers are plain data. */
import { demoTask } from './demo.ts';
import { fieldsTask } from './fields.ts';
import { fitTask } from './fit.ts';
import { linkTask } from './link.ts';
import { surveyTask } from './survey.ts';

export const TASKS = {
  survey: surveyTask,
  fields: fieldsTask,
  link: linkTask,
  fit: fitTask,
  demo: demoTask,
};

export type TaskName = keyof typeof TASKS;
export type TaskRequests = { [Name in TaskName]: Parameters<(typeof TASKS)[Name]>[0] };
export type TaskAnswers = { [Name in TaskName]: Awaited<ReturnType<(typeof TASKS)[Name]>> };
