/** Files of this machine as byte sources, and results written so that nothing half-made is left behind. */
import { createHash } from 'node:crypto';
import {
  accessSync,
  closeSync,
  constants,
  createReadStream,
  existsSync,
  mkdirSync,
  openSync,
  read,
  statSync,
  writeSync,
} from 'node:fs';
import { readFile, rename, rm, stat, writeFile } from 'node:fs/promises';
import { basename, dirname, join, resolve } from 'node:path';
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
  if (code === 'ENOENT') return 'there is no such file or folder';
  if (code === 'ENOTDIR') return 'what should be a folder on the way is a file';
  if (code === 'EACCES' || code === 'EPERM' || code === 'EROFS') return 'this user may not do that there';
  if (code === 'ENOSPC') return 'the disk is full';
  if (code === 'EISDIR') return 'it is a folder';
  return error instanceof Error ? error.message : String(error);
}

const cannotWrite = (path: string, error: unknown): CannotDo =>
  new CannotDo(`${path} could not be written: ${plainCause(error)}.`);

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

/** One level at a time: Node's own way of making all levels never ends where a file system refuses new folders. */
function makeFolder(path: string): void {
  if (existsSync(path)) return;
  makeFolder(dirname(path));
  mkdirSync(path);
}

/**
 * Whether a result can be written there, found out before the work and not after it; makes the folder.
 * @throws CannotDo where it cannot.
 */
export function prepareOutput(path: string): void {
  try {
    makeFolder(dirname(resolve(path)));
    if (existsSync(path) && statSync(path).isDirectory()) throw Object.assign(new Error(), { code: 'EISDIR' });
    accessSync(dirname(resolve(path)), constants.W_OK);
  } catch (error) {
    throw cannotWrite(path, error);
  }
}

/** Written beside its place, then moved: a reader never sees half a file. */
export async function writeWhole(path: string, content: string | Uint8Array): Promise<void> {
  const temporary = join(dirname(path), `.${basename(path)}.${process.pid}.tmp`);
  try {
    makeFolder(dirname(resolve(path)));
    await writeFile(temporary, content);
    await rename(temporary, path);
  } catch (error) {
    await rm(temporary, { force: true });
    throw cannotWrite(path, error);
  }
}

export interface ChunkedFile {
  write(chunk: string | Uint8Array): void;
  close(): void;
}

export function openForWriting(path: string): ChunkedFile {
  try {
    makeFolder(dirname(resolve(path)));
    const descriptor = openSync(path, 'w');
    return {
      write: (chunk) => {
        const bytes = typeof chunk === 'string' ? Buffer.from(chunk) : chunk;
        for (let at = 0; at < bytes.length;) at += writeSync(descriptor, bytes, at);
      },
      close: () => closeSync(descriptor),
    };
  } catch (error) {
    throw cannotWrite(path, error);
  }
}
