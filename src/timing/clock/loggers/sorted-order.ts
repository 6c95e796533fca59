/** The order that makes a moved time column ascend again, ties by arrival; null where it does already. */
export function sortedOrder(timeUs: Float64Array, arrival: Uint32Array): Uint32Array | null {
  let ascends = true;
  for (let row = 1; row < timeUs.length && ascends; row++) {
    const [before, own] = [timeUs[row - 1] as number, timeUs[row] as number];
    ascends = own > before || (own === before && (arrival[row] as number) > (arrival[row - 1] as number));
  }
  if (ascends) return null;
  return Uint32Array.from({ length: timeUs.length }, (_, row) => row).sort(
    (a, b) => (timeUs[a] as number) - (timeUs[b] as number) || (arrival[a] as number) - (arrival[b] as number),
  );
}
