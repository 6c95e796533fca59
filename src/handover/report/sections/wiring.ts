/** What was measured at the connector: the bench's checklist with its values. */
import { value } from '../../../kit/sheet-figures.ts';
import { CHECK_ITEMS } from '../../bench/checklist-items.ts';
import type { Measurement } from '../../bench/record-schema.ts';
import type { Context } from '../context.ts';
import { fullCell, inferred, type Cell, type Section } from '../document.ts';

const VERDICTS = { ok: 'in order', 'not-ok': 'not in order', 'not-applicable': 'does not apply' } as const;

/** The latest of each item stands; all are in the record. */
function latestOf(checklist: readonly Measurement[]): Map<string, Measurement> {
  return new Map(checklist.map((measured) => [measured.item, measured]));
}

function measuredCells(measured: Measurement | undefined): Cell[] {
  if (!measured) return [[inferred('not measured')], '', '', ''];
  const figure = measured.value === null ? '' : `${value(measured.value)} ${measured.unit}`.trim();
  const isOk = measured.verdict === 'ok';
  const mark = measured.verdict === 'not-applicable' ? ('not-exercised' as const) : isOk ? 'holds' : 'fails';
  return [
    figure || [inferred('no figure')],
    { ...fullCell(VERDICTS[measured.verdict]), mark },
    measured.note,
    [measured.by, measured.at].filter(Boolean).join(', '),
  ];
}

export function wiringSection({ extras }: Context): Section {
  const { bench } = extras;
  const latest = latestOf(bench?.checklist ?? []);
  const names = CHECK_ITEMS.map(({ title }) => title.toLowerCase()).join(', ');
  return {
    id: 'wiring',
    title: 'Wiring notes',
    blocks: [
      bench && bench.checklist.length > 0
        ? {
            kind: 'table',
            head: [
              'checked',
              'expected',
              { name: 'measured', align: 'right' },
              'verdict',
              { name: 'note', wide: true },
              'by',
            ],
            rows: CHECK_ITEMS.map((item): Cell[] => [
              item.title,
              item.expected,
              ...measuredCells(latest.get(item.name)),
            ]),
          }
        : {
            kind: 'words',
            words: `No measurement at the connector is on record. The checklist of the bench would stand here with its values: ${names}. A module that stays silent lacks a wire more often than a frame.`,
            tone: 'dim',
          },
    ],
  };
}
