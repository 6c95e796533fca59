/** Values compared and united by what they say: the order of keys says nothing, and neither does that of evidence. */

type Plain = Readonly<Record<string, unknown>>;
export const isPlain = (value: unknown): value is Plain =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** Text that is the same for equal values, whatever the order of their keys; absent and undefined are one. */
export function canonical(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (!isPlain(value)) return JSON.stringify(value) ?? 'null';
  const keys = Object.keys(value).filter((key) => value[key] !== undefined);
  return `{${keys
    .sort()
    .map((key) => `${JSON.stringify(key)}:${canonical(value[key])}`)
    .join(',')}}`;
}

export const isSame = (a: unknown, b: unknown): boolean => canonical(a) === canonical(b);

/** Each value once, by what `by` takes of it; the order of the first list, then, by their text, what only the second has. */
export function union<T>(a: readonly T[], b: readonly T[], by: (value: T) => unknown = (value) => value): T[] {
  const seen = new Set<string>();
  const fresh = (value: T): boolean => {
    const text = canonical(by(value));
    return !seen.has(text) && seen.add(text) !== undefined;
  };
  const first = a.filter(fresh);
  const rest = b.filter(fresh).sort((x, y) => (canonical(x) < canonical(y) ? -1 : 1));
  return [...first, ...rest];
}

/** Without some keys. */
export function without(value: object, keys: readonly string[]): Plain {
  return Object.fromEntries(Object.entries(value).filter(([key]) => !keys.includes(key)));
}

/** Deep copy in which each text under one of the keys is exchanged as told, in lists of texts too. */
export function renamed<T>(value: T, keys: readonly string[], names: ReadonlyMap<string, string>): T {
  const exchange = (text: unknown): unknown => (typeof text === 'string' ? (names.get(text) ?? text) : text);
  const visit = (part: unknown): unknown => {
    if (Array.isArray(part)) return part.map(visit);
    if (!isPlain(part)) return part;
    return Object.fromEntries(
      Object.entries(part).map(([key, inner]) => {
        if (!keys.includes(key)) return [key, visit(inner)];
        return [
          key,
          Array.isArray(inner)
            ? inner.map((one) => (isPlain(one) ? visit(one) : exchange(one)))
            : isPlain(inner)
              ? visit(inner)
              : exchange(inner),
        ];
      }),
    );
  };
  return visit(value) as T;
}
