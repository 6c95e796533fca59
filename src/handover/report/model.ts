/** The whole report as plain data, from the map and what else is known: the one place that decides what it says and in which order. */
import { plural } from '../../kit/sheet-figures.ts';
import { contextOf, type Context, type ReportInput } from './context.ts';
import type { Report } from './document.ts';
import { busesSection, loomSection } from './sections/buses.ts';
import { framesSection } from './sections/frame-list.ts';
import { identitySection } from './sections/identity.ts';
import { keepAliveSection } from './sections/keep-alive.ts';
import { leftOutSection } from './sections/left-out.ts';
import { proofSection } from './sections/proof.ts';
import { questionsSection } from './sections/questions.ts';
import { sequencesSection } from './sections/sequences.ts';
import { trialsSection } from './sections/trials.ts';
import { wiringSection } from './sections/wiring.ts';

function titleBlock({ map }: Context): Report['titleBlock'] {
  const { part, made, captures } = map;
  const proven = map.frames.flatMap(({ signals }) => signals).filter(({ sending }) => sending === 'proven').length;
  return [
    ['Part', part.title || 'not told'],
    ['Donor', part.donor || 'not told'],
    ['Made', `${made.at.slice(0, 10)} by ${made.by}`],
    ['Rests on', plural(captures.length, 'recording')],
    ['Proven by sending', plural(proven, 'signal')],
  ];
}

export function reportModel(input: ReportInput): Report {
  const context = contextOf(input);
  const { map } = context;
  return {
    title: map.part.title || 'Donor part',
    subtitle: 'What it sends, what it waits to hear, and how far either is known',
    titleBlock: titleBlock(context),
    cautions: input.cautions,
    sections: [
      identitySection(context),
      wiringSection(context),
      busesSection(context),
      loomSection(context),
      framesSection(context),
      sequencesSection(context),
      keepAliveSection(context),
      trialsSection(context),
      proofSection(context),
      questionsSection(context),
      leftOutSection(context),
    ],
  };
}
