/** The map held against recordings that it was not made from: what held, what failed, what they did not exercise. */
import { grouped } from '../../../kit/figures.ts';
import { percent } from '../../../kit/sheet-figures.ts';
import { shownId, type Context, type ReportProof } from '../context.ts';
import { fullCell, mono, type Block, type Cell, type Section } from '../document.ts';

type ProofFrame = ReportProof['frames'][number];
type ProofItem = ProofFrame['items'][number];
const VERDICTS = ['holds', 'fails', 'not-exercised'] as const;

const verdictCell = (verdict: ProofItem['verdict']): Cell => ({
  ...fullCell(verdict.replace('-', ' ')),
  mark: verdict,
});

function itemRow(frame: ProofFrame, item: ProofItem, { anchorOf }: Context): Cell[] {
  return [
    { words: [mono(`${frame.bus} ${shownId(frame)}`)], link: anchorOf(frame) },
    [item.item, item.name].filter(Boolean).join(' '),
    verdictCell(item.verdict),
    item.rate === null ? '' : percent(item.rate, 1),
    grouped(item.n),
    item.detail,
  ];
}

const RANK = { fails: 0, 'not-exercised': 1, holds: 2 } as const;

function blocksOf({ title, frames }: ReportProof, context: Context): Block[] {
  const items = frames.flatMap((frame) => frame.items.map((item) => ({ frame, item })));
  const told = items.filter(({ item }) => item.verdict !== 'holds');
  return [
    { kind: 'subhead', words: ['Held against ', mono(title)] },
    {
      kind: 'facts',
      rows: VERDICTS.map((verdict): readonly [string, Cell] => [
        verdict.replace('-', ' '),
        {
          ...fullCell(`${items.filter(({ item }) => item.verdict === verdict).length} of ${items.length}`),
          mark: verdict,
        },
      ]),
    },
    {
      kind: 'table',
      head: [
        'frame',
        'item',
        'verdict',
        { name: 'rate', align: 'right' },
        { name: 'n', align: 'right' },
        { name: 'detail', wide: true },
      ],
      rows: told
        .toSorted((a, b) => RANK[a.item.verdict] - RANK[b.item.verdict])
        .map(({ frame, item }) => itemRow(frame, item, context)),
      otherwise: 'Everything that was exercised held.',
    },
  ];
}

export function proofSection(context: Context): Section {
  const proofs = context.extras.proofs ?? [];
  return {
    id: 'proof',
    title: 'Proof on other recordings',
    blocks:
      proofs.length > 0
        ? proofs.flatMap((proof) => blocksOf(proof, context))
        : [
            {
              kind: 'words',
              words:
                'This report was made without one. Held against a recording that the map was not made from, every place, scale, guard and period would stand here as holding, failing, or not exercised.',
              tone: 'dim',
            },
          ],
  };
}
