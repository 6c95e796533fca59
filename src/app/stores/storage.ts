/**
 * What stays in this browser: the dossier, the capture files themselves (so that a reload needs no
 * asking), and findings, the oldest of which give way when their bytes exceed the limit. Nothing leaves the machine.
 */
import { openDB, type DBSchema, type IDBPDatabase } from 'idb';

export interface KeptFile {
  readonly name: string;
  readonly blob: Blob;
}
interface KeptFinding {
  readonly key: string;
  readonly bytes: number;
  /** Milliseconds since 1970. */
  readonly usedAt: number;
  readonly value: unknown;
}
interface Shelves extends DBSchema {
  dossier: { key: string; value: { readonly json: unknown; readonly savedAt: number } };
  files: { key: string; value: KeptFile };
  findings: { key: string; value: KeptFinding; indexes: { usedAt: number } };
}

const FINDING_BYTES_LIMIT = 120e6;
let opened: Promise<IDBPDatabase<Shelves>> | null = null;
const database = (): Promise<IDBPDatabase<Shelves>> => {
  opened ??= openDB<Shelves>('loomscribe', 1, {
    upgrade(db) {
      db.createObjectStore('dossier');
      db.createObjectStore('files');
      db.createObjectStore('findings', { keyPath: 'key' }).createIndex('usedAt', 'usedAt');
    },
  });
  return opened;
};

export async function keepDossier(json: unknown, savedAt: number): Promise<void> {
  await (await database()).put('dossier', { json, savedAt }, 'current');
}
export const keptDossier = async (): Promise<{ json: unknown; savedAt: number } | undefined> =>
  (await database()).get('dossier', 'current');

/** Files are known by name and size, so that they outlive the capture that was made from them; the digest is checked after reading. */
export const fileKey = (name: string, size: number): string => `${name}|${size}`;

/** False where the browser has no room for it: the person is then told to keep the file at hand. */
export async function keepFile(file: KeptFile): Promise<boolean> {
  try {
    await (await database()).put('files', file, fileKey(file.name, file.blob.size));
    return true;
  } catch {
    return false;
  }
}
export const keptFile = async (name: string, size: number): Promise<KeptFile | undefined> =>
  (await database()).get('files', fileKey(name, size));

/** Lets go of every kept file whose key is not in `keys`. */
export async function forgetFilesExcept(keys: ReadonlySet<string>): Promise<void> {
  const db = await database();
  const kept = await db.getAllKeys('files');
  await Promise.all(kept.filter((key) => !keys.has(key)).map((key) => db.delete('files', key)));
}

export async function keptFinding(key: string): Promise<unknown> {
  const db = await database();
  const found = await db.get('findings', key);
  if (found) await db.put('findings', { ...found, usedAt: Date.now() });
  return found?.value;
}

export async function keepFinding(key: string, value: unknown, bytes: number): Promise<void> {
  if (bytes > FINDING_BYTES_LIMIT / 4) return;
  const db = await database();
  await db.put('findings', { key, bytes, usedAt: Date.now(), value });
  await evictFindings(db);
}

async function evictFindings(db: IDBPDatabase<Shelves>): Promise<void> {
  const sizes: { key: string; bytes: number }[] = [];
  let cursor = await db.transaction('findings').store.index('usedAt').openCursor(null, 'prev');
  while (cursor) {
    sizes.push({ key: cursor.value.key, bytes: cursor.value.bytes });
    cursor = await cursor.continue();
  }
  let total = 0;
  for (const { key, bytes } of sizes) {
    total += bytes;
    if (total > FINDING_BYTES_LIMIT) await db.delete('findings', key);
  }
}
