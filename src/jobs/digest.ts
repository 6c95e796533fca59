/** Names under which findings are kept: the capture's digest, and a key of (capture, job, version, request). */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import type { ReadOptions } from '../frames/reading-types.ts';
import type { FileReport } from '../frames/table.ts';
import { ANALYSES, type AnalysisRequest } from './analyses/catalogue.ts';

function plainValue(value: unknown): unknown {
  if (ArrayBuffer.isView(value)) return Array.from(value as unknown as ArrayLike<number>);
  if (Array.isArray(value)) return value.map(plainValue);
  if (value === null || typeof value !== 'object') return value;
  const entries = Object.entries(value).filter(([, inner]) => inner !== undefined);
  return Object.fromEntries(
    entries.sort(([a], [b]) => (a < b ? -1 : 1)).map(([key, inner]) => [key, plainValue(inner)]),
  );
}

/** JSON with sorted keys: equal values give equal texts. */
export const canonicalJson = (value: unknown): string => JSON.stringify(plainValue(value));

export const digestText = (text: string): string => bytesToHex(sha256(utf8ToBytes(text)));

/** @param busNames bus given for each file, or undefined */
export function captureDigest(
  files: readonly FileReport[],
  busNames: readonly (string | undefined)[],
  options: ReadOptions,
): string {
  const named = files.map(({ sha256: digest }, place) => [digest, busNames[place] ?? null]);
  return digestText(canonicalJson({ files: named, options }));
}

/** Where the answer to a request is kept: equal requests of one capture and one job version share it. */
export function findingsKey(captureDigestText: string, request: AnalysisRequest): string {
  const { version } = ANALYSES[request.job];
  return `${request.job}@${version}/${captureDigestText}/${digestText(canonicalJson(request)).slice(0, 32)}`;
}
