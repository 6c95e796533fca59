/** One frame: when it is sent and by whom, its bits drawn, its fields as a table, and what speaks for each. */
import { confidenceFigure } from '../../../kit/figures.ts';
import { period, plural, value } from '../../../kit/sheet-figures.ts';
import type { MapFrame, MapTiming } from '../../../map/schema.ts';
import { senderWords, shownId, type Context } from '../context.ts';
import { fullCell, inferred, mono, type Block, type Cell, type Picture, type Section } from '../document.ts';
import { bitLayouts } from '../pictures/bits-layout.ts';
import { legendKinds } from '../pictures/bits-scene.ts';
import { claimsOf } from '../pictures/claims.ts';
import { pageLayouts, pagesWords } from '../pictures/page-layouts.ts';
import { evidenceBlocks } from './frame-evidence.ts';
import { fieldsTable } from './frame-fields.ts';
import { needCell, ROLES } from './frame-words.ts';
import { bitsTable } from './frame-bits.ts';

const KINDS: Readonly<Record<MapTiming['kind'], string>> = {
  periodic: 'periodic',
  'on-change': 'on a change',
  mixed: 'periodic, and at once on a change',
  reply: 'as a reply',
  once: 'once',
};

/** Periods that differ by less are the same one. */
const ALIKE = 0.03;

function timingWords(timing: MapTiming): string {
  const { kind, periodMs, jitterMs, replyTo, delayMs, burst, timeoutMs, timeoutFrom } = timing;
  const parts = [
    KINDS[kind],
    periodMs !== null && `every ${period(periodMs)}`,
    periodMs !== null && jitterMs !== null && `jitter ${value(jitterMs)} ms`,
    replyTo && `to ${replyTo}`,
    delayMs !== undefined && `after ${value(delayMs)} ms`,
    burst && `in bursts of ${burst.count}, ${value(burst.periodMs)} ms apart`,
    timeoutMs !== undefined &&
      `missed after ${value(timeoutMs)} ms (${timeoutFrom === 'bench' ? 'tried on the bench' : 'a guess'})`,
  ];
  return parts.filter(Boolean).join(', ');
}

/** Modes in which it is sent otherwise than in all; how many are alike. */
function modeRows(timing: MapTiming): [string, Cell][] {
  const all = Object.entries(timing.byMode ?? {});
  const isAlike = (inMode: MapTiming): boolean =>
    inMode.kind === timing.kind &&
    (inMode.periodMs === timing.periodMs ||
      (inMode.periodMs !== null &&
        timing.periodMs !== null &&
        Math.abs(inMode.periodMs - timing.periodMs) <= ALIKE * timing.periodMs));
  const others = all.filter(([, inMode]) => !isAlike(inMode));
  if (all.length > 0 && others.length === 0)
    return [['by mode', `alike in all ${all.length} modes that were recorded`]];
  return others.map(([mode, inMode]): [string, Cell] => [`when ${mode}`, timingWords(inMode)]);
}

function factsOf(frame: MapFrame, { captureName }: Context): Block {
  const { sender, timing, rest, fd, extended } = frame;
  const modes = modeRows(timing);
  const need = needCell(frame);
  const restCell: Cell = rest
    ? [
        mono(rest.payload || 'no bytes'),
        ` recorded in ${captureName(rest.capture)}, ${value(rest.fromS)} to ${value(rest.toS)} s`,
      ]
    : [inferred('no payload recorded at rest')];
  return {
    kind: 'facts',
    rows: [
      [
        'identifier',
        [
          mono(frame.id),
          `, ${extended ? '29' : '11'} bits, ${plural(frame.length, 'byte')}${fd ? ', FD' : ''}, on ${frame.bus}`,
        ],
      ],
      [
        'sender',
        sender
          ? {
              ...fullCell(senderWords(frame)),
              group: sender.group,
              after: `, sure ${confidenceFigure(sender.confidence)}`,
            }
          : senderWords(frame),
      ],
      ['role', ROLES[frame.role]],
      ['sent', timingWords(timing)],
      ...modes,
      ['at rest', restCell],
      ...(need === '' ? [] : [['need', need] as const]),
    ],
  };
}

function layoutPictures(frame: MapFrame): { pictures: Picture[]; kinds: string[] } {
  const layouts = pageLayouts(frame);
  const pictures = layouts.flatMap(({ pages, claims }) => {
    const columns = bitLayouts(frame, claims);
    const onPages = pages.length > 0 ? pagesWords(pages) : '';
    return columns.map((layout, index): Picture => {
      const [first, last] = [layout.rows[0]?.firstByte ?? 0, layout.rows.at(-1)?.lastByte ?? 0];
      const part = columns.length > 1 ? `bytes ${first} to ${last}` : '';
      const more = pages.length > 1 ? `; names as on the first of these ${pages.length} pages` : '';
      const caption = [onPages, part].filter(Boolean).join(', ') + more;
      return {
        title: `Bits of ${shownId(frame)}${onPages ? ` when ${onPages}` : ''}${part ? `, ${part}` : ''}`,
        description: 'A row a byte, bit 7 left; the numbered fields stand in the table below',
        content: { of: 'bits', layout },
        ...(caption ? { caption } : {}),
        ...(index === 0 ? { behind: bitsTable(frame, claims) } : {}),
      };
    });
  });
  return { pictures, kinds: [...new Set(layouts.flatMap(({ claims }) => claims.map(({ kind }) => kind)))] };
}

export function frameSection(frame: MapFrame, context: Context): Section {
  const { pictures, kinds } = layoutPictures(frame);
  const legend = legendKinds(kinds).map((kind): Picture => ({
    title: '',
    description: '',
    content: { of: 'bits-legend', kind },
  }));
  return {
    id: context.anchorOf(frame),
    title: [mono(shownId(frame)), ` ${frame.name}`],
    ...(frame.sender ? { group: frame.sender.group } : {}),
    blocks: [
      factsOf(frame, context),
      ...(frame.length > 0 ? [{ kind: 'pictures' as const, pictures, legend }] : []),
      ...(claimsOf(frame).some(({ number }) => number > 0)
        ? [fieldsTable(frame)]
        : [{ kind: 'words' as const, words: 'No field was found in it.', tone: 'dim' as const }]),
      ...evidenceBlocks(frame, context),
    ],
  };
}
