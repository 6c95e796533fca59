/** Texts of a map, or of any plain value, that a person or a program wrote: all but those that only machines read. */

/** Keys whose texts are formats, digests and figures: a number of the vehicle cannot stand there but by chance. */
const MACHINE_KEYS = new Set([
  'format',
  'sha256',
  'id',
  'poly',
  'init',
  'xorout',
  'order',
  'coding',
  'kind',
  'role',
  'method',
  'reason',
  'at',
  'payload',
]);

/** Changes every text and figure of a plain value. */
export function mapValues(value: unknown, change: <T extends string | number>(own: T) => string | number): unknown {
  if (typeof value === 'string' || typeof value === 'number') return change(value);
  if (Array.isArray(value)) return value.map((each) => mapValues(each, change));
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).map(([key, each]) => [
      key,
      MACHINE_KEYS.has(key) && typeof each === 'string' ? each : mapValues(each, change),
    ]),
  );
}

export function stringsOf(value: unknown): readonly string[] {
  const texts: string[] = [];
  mapValues(value, (own) => {
    if (typeof own === 'string') texts.push(own);
    return own;
  });
  return texts;
}
