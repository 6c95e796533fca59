/** Log lines of an invented module that broadcasts a value while a tester asks for the same, and for one that is refused; a minute of it. */
const SECONDS = 60;
const hex = (value: number, digits: number): string => value.toString(16).toUpperCase().padStart(digits, '0');
const line = (atS: number, id: string, payload: string): [number, string] => [
  atS,
  `(${(1764064800 + atS).toFixed(6)}) can0 ${id}#${payload}`,
];
/** Of the module, in its own tenths: a slow swing. */
const tenthsAt = (atS: number): number => Math.round(20000 + 9000 * Math.sin(atS / 7) + 2500 * Math.sin(atS / 1.9));

/** 0x2A0, 50 times a second: byte 1 and 2, big-endian, hold tenths. */
export const broadcast = Array.from({ length: SECONDS * 50 }, (_, k) =>
  line(k / 50, '2A0', `00${hex(tenthsAt(k / 50), 4)}${hex(k & 15, 2)}`),
);
/** 0x6A1 asks twice a second for 4001, a tenth of the broadcast value, and 4002, which is out of range; 0x6A9 answers. */
export const polls = Array.from({ length: SECONDS * 2 }, (_, k) => {
  const atS = k / 2 + 0.003;
  return [
    line(atS, '6A1', '0322400100000000'),
    line(atS + 0.012, '6A9', `05624001${hex(Math.round(tenthsAt(atS + 0.012) / 10), 4)}AAAA`),
    line(atS + 0.1, '6A1', '0322400200000000'),
    line(atS + 0.112, '6A9', '037F2231AAAAAAAA'),
  ];
}).flat();
/** As a log file reads. */
export const textOf = (lines: readonly [number, string][]): string =>
  [...lines]
    .sort((a, b) => a[0] - b[0])
    .map(([, text]) => text)
    .join('\n');
