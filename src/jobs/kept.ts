/** Things that are dear to make and bounded in bytes: asked for by key, made once, the longest unused dropped first. */
export interface Kept<T> {
  get(key: string, make: () => Promise<T>): Promise<T>;
}

export function createKept<T>(bytesMax: number, bytesOf: (thing: T) => number): Kept<T> {
  const things = new Map<string, { readonly promise: Promise<T>; bytes: number }>();
  let bytes = 0;
  const drop = (key: string): void => {
    bytes -= things.get(key)?.bytes ?? 0;
    things.delete(key);
  };
  const makeRoom = (newest: string): void => {
    for (const key of things.keys()) {
      if (bytes <= bytesMax) return;
      if (key !== newest) drop(key);
    }
  };
  return {
    get(key, make) {
      const known = things.get(key);
      if (known) {
        things.delete(key);
        things.set(key, known);
        return known.promise;
      }
      const entry = { promise: make(), bytes: 0 };
      things.set(key, entry);
      entry.promise.then(
        (thing) => {
          if (things.get(key) !== entry) return;
          entry.bytes = bytesOf(thing);
          bytes += entry.bytes;
          makeRoom(key);
        },
        () => {
          if (things.get(key) === entry) drop(key);
        },
      );
      return entry.promise;
    },
  };
}
