/** Files of this machine as byte sources, and results written so that nothing half-made is left behind. */
import { createHash } from 'node:crypto';
import { closeSync, createReadStream, mkdirSync, openSync, read, writeSync } from 'node:fs';
import { mkdir, readFile, rename, rm, stat, writeFile } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { promisify } from 'node:util';
import type { StreamedDigest } from '../frames/reading-types.ts';
import type { ByteSource } from '../frames/source.ts';
import { memorySource } from '../frames/source.ts';
import { CannotDo } from './arguments.ts';

interface SystemError {
  readonly code?: string;
}

function plainCause(error: unknown): string {
  const code = (error as SystemError).code;
  if (code === 'ENOENT') return 'there is no such file';
  if (code === 'EACCES') return 'it may not be read by this user';
  if (code === 'EISDIR') return 'it is a folder';
  return error instanceof Error ? error.message : String(error);
}

const readInto = promisify(read);

/** By plain descriptor: it stays open as long as the thread that reads, and the thread ends with its task. */
async function readRange(descriptor: number, start: number, end: number): Promise<Uint8Array> {
  const bytes = new Uint8Array(end - start);
  let filled = 0;
  while (filled < bytes.length) {
    const { bytesRead } = await readInto(descriptor, bytes, filled, bytes.length - filled, start + filled);
    if (bytesRead === 0) break;
    filled += bytesRead;
  }
  return bytes.subarray(0, filled);
}

/** @throws CannotDo where the file cannot be opened. */
export async function fileSource(path: string): Promise<ByteSource> {
  try {
    const info = await stat(path);
    if (info.isDirectory()) throw Object.assign(new Error(), { code: 'EISDIR' });
    const descriptor = openSync(path, 'r');
    return {
      name: basename(path),
      size: info.size,
      slice: (start, end) => readRange(descriptor, start, Math.min(end, info.size)),
    };
  } catch (error) {
    throw new CannotDo(`${path}: ${plainCause(error)}.`);
  }
}

/** SHA-256 by the platform's own library, several times faster than one written in the language. */
export function platformDigest(): StreamedDigest {
  const hash = createHash('sha256');
  return { update: (bytes) => hash.update(bytes), hex: () => hash.digest('hex') };
}

/** Standard input, read to its end: its size must be known before it can be sliced. */
export async function standardInput(): Promise<ByteSource> {
  const chunks: Buffer[] = [];
  // By descriptor: a worker thread has no standard input of its own.
  for await (const chunk of createReadStream('', { fd: 0, autoClose: false })) chunks.push(chunk as Buffer);
  return memorySource('standard input', new Uint8Array(Buffer.concat(chunks)));
}

/** @throws CannotDo where the file cannot be read. */
export async function readText(path: string): Promise<string> {
  try {
    return await readFile(path, 'utf8');
  } catch (error) {
    throw new CannotDo(`${path}: ${plainCause(error)}.`);
  }
}

/** Written beside its place, then moved: a reader never sees half a file. */
export async function writeWhole(path: string, content: string | Uint8Array): Promise<void> {
  const temporary = join(dirname(path), `.${basename(path)}.${process.pid}.tmp`);
  try {
    await mkdir(dirname(path), { recursive: true });
    await writeFile(temporary, content);
    await rename(temporary, path);
  } catch (error) {
    await rm(temporary, { force: true });
    throw new CannotDo(`${path} could not be written: ${plainCause(error)}.`);
  }
}

export interface ChunkedFile {
  write(chunk: string | Uint8Array): void;
  close(): void;
}

export function openForWriting(path: string): ChunkedFile {
  try {
    mkdirSync(dirname(path), { recursive: true });
    const descriptor = openSync(path, 'w');
    return {
      write: (chunk) => {
        const bytes = typeof chunk === 'string' ? Buffer.from(chunk) : chunk;
        for (let at = 0; at < bytes.length;) at += writeSync(descriptor, bytes, at);
      },
      close: () => closeSync(descriptor),
    };
  } catch (error) {
    throw new CannotDo(`${path} could not be written: ${plainCause(error)}.`);
  }
}
