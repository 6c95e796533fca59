/**
 * Everything a controller project receives for one map: the map, its JSON Schema, C source, the keep-alive plan and a report,
 * each with the cautions.
 */
import { mapJsonSchema } from '../map/json-schema.ts';
import { printJson, printMap } from '../map/print.ts';
import type { RangeChoice } from '../map/limits.ts';
import type { SignalMap } from '../map/schema.ts';
import type { CrcChoice, Scaling } from './c/context.ts';
import { generateC } from './c/source.ts';
import { cautionsFor } from './cautions.ts';
import type { LeftOut } from './encode-choice.ts';
import { keepAliveCsv, keepAliveJson, keepAliveMarkdown } from './keep-alive.ts';
import { keepAlivePlan } from './needs/plan.ts';
import type { KeepAlivePlan } from './needs/types.ts';
import { withNeeds } from './needs/with-needs.ts';
import type { ReportExtras } from './report/context.ts';
import { reportHtml } from './report/html.ts';
import { reportMarkdown } from './report/markdown.ts';

export interface HandoverFile {
  readonly name: string;
  readonly bytes: Uint8Array;
  readonly mime: string;
}

export interface Handover {
  readonly files: readonly HandoverFile[];
  /** To be read before anything is sent. */
  readonly cautions: readonly string[];
  /** Frames and signals that the encoder does not have, each with its reason. */
  readonly leftOut: readonly LeftOut[];
  readonly plan: KeepAlivePlan;
}

export interface HandoverOptions {
  /** "frame.signal": signals that may move the machine and that a person released by name. */
  readonly release?: readonly string[];
  /** What the encoder keeps to: what was observed (default), or what a person allows in the map. */
  readonly ranges?: RangeChoice;
  /** Before every C name; default "sm". */
  readonly prefix?: string;
  /** Physical values in C: doubles (default), or whole numbers. */
  readonly scaling?: Scaling;
  /** CRCs in C: bit by bit (default), or by table. */
  readonly crc?: CrcChoice;
  /** Receive filters that the hardware has for each bus and kind of identifier; left out, one an identifier. */
  readonly filters?: number;
  /** Made with captures; left out, one is made from the map alone. */
  readonly plan?: KeepAlivePlan;
  /** What the report shows beside the map: traces, the bench record, proofs. */
  readonly report?: Omit<ReportExtras, 'plan'>;
}

export function handoverFiles(given: SignalMap, options: HandoverOptions = {}): Handover {
  const plan = options.plan ?? keepAlivePlan(given);
  const map = withNeeds(given, plan);
  const cautions = cautionsFor(map, options.release);
  const code = generateC(map, { ...options, cautions });
  const report = { map, cautions, leftOut: code.leftOut, extras: { ...options.report, plan } };
  const text = (name: string, mime: string, content: string): HandoverFile => ({
    name,
    mime,
    bytes: new TextEncoder().encode(content),
  });
  return {
    files: [
      text('signal-map.json', 'application/json', printMap(map)),
      text('signal-map.schema.json', 'application/schema+json', printJson(mapJsonSchema())),
      text('signal_map.h', 'text/x-c', code.header),
      text('signal_map.c', 'text/x-c', code.source),
      text('keep-alive.md', 'text/markdown', keepAliveMarkdown(map, plan, cautions)),
      text('keep-alive.csv', 'text/csv', keepAliveCsv(plan)),
      text('keep-alive.json', 'application/json', printJson(keepAliveJson(plan))),
      text('report.html', 'text/html', reportHtml(report)),
      text('report.md', 'text/markdown', reportMarkdown(report)),
    ],
    cautions,
    leftOut: code.leftOut,
    plan,
  };
}
