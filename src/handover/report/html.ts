/** The report as one self-contained HTML file: no script, nothing loaded, prints well. */
import { bitLayoutHtml } from './bit-layout.ts';
import { htmlTable, htmlText, type TextTable } from './markup-text.ts';
import * as parts from './parts.ts';

const STYLE = `
body{font:15px/1.5 sans-serif;max-width:70rem;margin:2rem auto;padding:0 1rem;color:#1d2430;background:#fff}
h1,h2,h3{line-height:1.2;margin:2rem 0 .5rem}
table{border-collapse:collapse;font-size:13px}
th,td{border:1px solid #c5ccd6;padding:.2rem .5rem;text-align:left;vertical-align:top}
th{background:#eef1f5}
.wide{overflow-x:auto}
.cautions{border:2px solid #b3261e;padding:.5rem 1rem}
.layout{display:flex;flex-wrap:wrap;gap:1.5rem;align-items:flex-start}
.bits td,.bits th{width:2.2rem;text-align:center;padding:.15rem}
.signal{background:#cfe3f7}.guard{background:#f7dfc4}.select{background:#d6efd2}
@media print{body{margin:0;max-width:none}section{break-inside:avoid}}
`;

const list = (lines: readonly string[]): string =>
  `<ul>${lines.map((line) => `<li>${htmlText(line)}</li>`).join('')}</ul>`;
const table = (content: TextTable, otherwise: string): string =>
  content.rows.length > 0 ? htmlTable(content) : `<p>${otherwise}</p>`;

export function reportHtml({ map, cautions, leftOut }: parts.ReportInput): string {
  const title = htmlText(map.part.title) || 'Donor part';
  const frames = map.frames.map(
    (frame) =>
      `<section><h3>${htmlText(frame.name)} (${htmlText(frame.bus)} ${frame.id})</h3>${list(parts.guardLines(frame))}` +
      `${bitLayoutHtml(frame)}${table(parts.signalTable(frame), 'No named signal.')}</section>`,
  );
  const sequences = parts.sequenceLines(map);
  return [
    '<!doctype html>',
    '<html lang="en"><head><meta charset="utf-8">',
    `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">`,
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    `<title>${title}</title><style>${STYLE}</style></head><body>`,
    `<h1>${title}</h1><p>${parts.FIRST_VERSION}</p>${list(parts.identityLines(map))}`,
    `<section class="cautions"><h2>Cautions</h2>${list(cautions)}</section>`,
    `<h2>Buses</h2>${table(parts.busTable(map), 'None named.')}`,
    `<h2>Frames</h2>${table(parts.frameTable(map), 'None.')}`,
    ...frames,
    `<h2>Sequences</h2>${sequences.length > 0 ? list(sequences) : '<p>None found yet.</p>'}`,
    `<h2>Not in the encoder</h2>${table(parts.leftOutTable(leftOut), 'Nothing was left out.')}`,
    '</body></html>',
    '',
  ].join('\n');
}
