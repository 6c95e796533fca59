/** `fit`: which fields follow a known quantity, with scale and offset. */
import type { QuantityFits } from '../../reference/types.ts';
import { wholeOf, type OptionSpec } from '../arguments.ts';
import { CAPTURE_OPTIONS, DOSSIER_OPTION, JSON_OPTION } from '../capture-arguments.ts';
import { inputsFrom } from '../inputs.ts';
import { runTask } from '../run-task.ts';
import { figure, textTable, wrapped } from '../text-table.ts';
import type { Verb } from '../verb.ts';
import { SEED_OPTION } from './link.ts';

export const REFERENCE_OPTIONS: readonly OptionSpec[] = [
  {
    name: 'reference',
    value: 'FILE',
    help: 'known quantities over time: CSV time,NAME [UNIT],...; gaps are empty cells',
  },
  {
    name: 'reference-offset',
    value: 'auto|S',
    help: 'capture time = reference time + offset; auto (default) finds it in the data',
  },
];

const COLUMNS = [
  { head: 'bus' },
  { head: 'id' },
  { head: 'field' },
  { head: 'coding' },
  { head: 'scale', right: true },
  { head: '±', right: true },
  { head: 'offset', right: true },
  { head: '±', right: true },
  { head: 'simple', right: true },
  { head: 'lag s', right: true },
  { head: 'r2', right: true },
  { head: 'n', right: true },
];

function quantityText(quantity: QuantityFits): string {
  const unit = quantity.unit ? ` [${quantity.unit}]` : '';
  const head = wrapped(`${quantity.name}${unit}${quantity.words ? `: ${quantity.words}` : ''}`, 100, '  ');
  const rows = quantity.fits.map((fit) => [
    fit.bus,
    fit.id,
    fit.field,
    fit.coding,
    figure(fit.scale, 5),
    figure(fit.scaleSe, 2),
    figure(fit.offset, 4),
    figure(fit.offsetSe, 2),
    figure(fit.simpleScale, 6),
    fit.lagS.toFixed(2),
    fit.r2.toFixed(4),
    String(fit.n),
  ]);
  const bends = quantity.fits.flatMap(({ field, table }) =>
    table
      ? [`  ${field} bends: raw to ${quantity.unit || 'value'} ${table.map((point) => point.join(' → ')).join(', ')}`]
      : [],
  );
  return rows.length > 0 ? [head, textTable(COLUMNS, rows), ...bends].join('\n') : head;
}

export const fit: Verb = {
  name: 'fit',
  summary: 'which fields follow a known quantity, with scale, offset and uncertainty',
  usage: 'CAPTURE... [--reference FILE] [--reference-offset auto|S] [--json]',
  about:
    'Scales fields to what you measured: meter readings, satellite speed. Robust regression; a simple scale is named where it lies within the error, with both figures shown.\nWithout a reference, what a tester asked for in the capture serves as one: the readings of each identifier, in raw counts where no standard names them.\nNothing is fitted to a quantity that hardly changed.',
  options: [...REFERENCE_OPTIONS, SEED_OPTION, DOSSIER_OPTION, ...CAPTURE_OPTIONS, JSON_OPTION],
  example: 'loomscribe fit drive-1.log --reference reference-1.csv',
  async run(parsed, terminal) {
    const inputs = await inputsFrom(parsed, terminal);
    const offset = inputs.referenceOffset;
    const seed = wholeOf(parsed.one('seed') ?? '1', 'seed');
    const report = await runTask('fit', { ...inputs.capture, reference: inputs.reference, offset, seed }, terminal);
    if (parsed.has('json')) {
      terminal.print(JSON.stringify(report, null, 2));
      return;
    }
    const clock = report.clockWords ?? `offset ${report.clockOffsetS.toFixed(2)} s`;
    const head = wrapped(`reference's clock: ${clock}`, 100, '  ');
    terminal.print([head, ...report.quantities.map(quantityText)].join('\n\n'));
  },
};
