/** Small functions that generated C sources share, each written out only where it is used. P stands for the prefix. */
const HELPERS = {
  sign_bit: `/* The sign of a double, of zero too. */
static int P_sign_bit(double value)
{
  uint64_t bits;
  memcpy(&bits, &value, sizeof bits);
  return (bits >> 63) != 0u;
}
`,
  nearest: `/* The whole number nearest to a value that lies within +-2^53, halves upward. */
static int64_t P_nearest(double value)
{
  const double moved = value + 0.5;
  int64_t whole = (int64_t)moved;
  if ((double)whole > moved) {
    whole -= 1;
  }
  return whole;
}
`,
  from_bcd: `/* Packed decimal digits; -1 where one of them is above 9. */
static double P_from_bcd(uint64_t raw)
{
  double value = 0.0;
  double weight = 1.0;
  while (raw != 0u) {
    const unsigned digit = (unsigned)(raw & 0xFu);
    if (digit > 9u) {
      return -1.0;
    }
    value += (double)digit * weight;
    weight *= 10.0;
    raw >>= 4;
  }
  return value;
}
`,
  to_bcd: `/* Packed decimal digits of a whole number. */
static uint64_t P_to_bcd(int64_t value)
{
  uint64_t rest = (uint64_t)value;
  uint64_t raw = 0u;
  unsigned shift = 0u;
  while (rest != 0u) {
    raw |= (rest % 10u) << shift;
    rest /= 10u;
    shift += 4u;
  }
  return raw;
}
`,
  float32: `static double P_float32(uint64_t raw)
{
  const uint32_t bits = (uint32_t)raw;
  float value;
  memcpy(&value, &bits, sizeof value);
  return (double)value;
}
`,
  float64: `static double P_float64(uint64_t raw)
{
  double value;
  memcpy(&value, &raw, sizeof value);
  return value;
}
`,
  to_float32: `static uint64_t P_to_float32(double value)
{
  const float narrow = (float)value;
  uint32_t bits;
  memcpy(&bits, &narrow, sizeof bits);
  return (uint64_t)bits;
}
`,
  to_float64: `static uint64_t P_to_float64(double value)
{
  uint64_t bits;
  memcpy(&bits, &value, sizeof bits);
  return bits;
}
`,
  between: `/* Straight lines between points that rise in x. Returns 0 outside them. */
static int P_between(const double *xs, const double *ys, unsigned count, double x, double *y)
{
  unsigned i;
  if (!(x >= xs[0] && x <= xs[count - 1u])) {
    return 0;
  }
  for (i = 0u; i + 2u < count && xs[i + 1u] <= x; i++) {
  }
  if (count == 1u || x == xs[i + 1u]) {
    *y = ys[count == 1u ? 0u : i + 1u];
  } else {
    *y = ys[i] + ((x - xs[i]) * (ys[i + 1u] - ys[i])) / (xs[i + 1u] - xs[i]);
  }
  return 1;
}
`,
  unit: `/* The i-th unit of a message: bits 4 (high half first), 8, 16 low byte first, or -16 high byte first. */
static uint64_t P_unit(const uint8_t *m, unsigned n, unsigned i, int bits)
{
  unsigned first;
  unsigned second;
  if (bits == 8) {
    return (uint64_t)m[i];
  }
  if (bits == 4) {
    return (uint64_t)(((i & 1u) == 0u) ? ((unsigned)m[i >> 1] >> 4) : ((unsigned)m[i >> 1] & 0x0Fu));
  }
  first = (unsigned)m[2u * i];
  second = (2u * i + 1u < n) ? (unsigned)m[2u * i + 1u] : 0u;
  return (uint64_t)((bits == 16) ? (first | (second << 8)) : ((first << 8) | second));
}

static unsigned P_units(unsigned n, int bits)
{
  return (bits == 8) ? n : ((bits == 4) ? 2u * n : (n + 1u) / 2u);
}
`,
  crc: `/* Cyclic redundancy check by the Rocksoft model (Williams 1993), bit by bit, width 1 to 64. */
static uint64_t P_crc(const uint8_t *m, unsigned n, int unit_bits, unsigned width, uint64_t poly, uint64_t init,
                      int refin, int refout, uint64_t xorout)
{
  const uint64_t mask = (width == 64u) ? ~UINT64_C(0) : ((UINT64_C(1) << width) - 1u);
  const unsigned bits = (unit_bits < 0) ? 16u : (unsigned)unit_bits;
  const unsigned count = P_units(n, unit_bits);
  uint64_t reg = init & mask;
  uint64_t out = 0u;
  unsigned i;
  unsigned k;
  for (i = 0u; i < count; i++) {
    const uint64_t unit = P_unit(m, n, i, unit_bits);
    for (k = 0u; k < bits; k++) {
      const uint64_t bit = (unit >> (refin ? k : bits - 1u - k)) & 1u;
      const uint64_t top = (reg >> (width - 1u)) & 1u;
      reg = (reg << 1) & mask;
      if ((top ^ bit) != 0u) {
        reg ^= poly & mask;
      }
    }
  }
  if (!refout) {
    return reg ^ (xorout & mask);
  }
  for (k = 0u; k < width; k++) {
    out |= ((reg >> k) & 1u) << (width - 1u - k);
  }
  return out ^ (xorout & mask);
}
`,
  sum: `static uint64_t P_sum(const uint8_t *m, unsigned n, int unit_bits, unsigned width, uint64_t init, int end_around,
                      uint64_t xorout)
{
  const uint64_t mask = (width == 64u) ? ~UINT64_C(0) : ((UINT64_C(1) << width) - 1u);
  const unsigned count = P_units(n, unit_bits);
  uint64_t total = init;
  unsigned i;
  for (i = 0u; i < count; i++) {
    total += P_unit(m, n, i, unit_bits);
  }
  while (end_around && (total & ~mask) != 0u) {
    total = (total & mask) + (total >> (width & 63u));
  }
  return (total ^ xorout) & mask;
}
`,
  xor: `static uint64_t P_xor(const uint8_t *m, unsigned n, int unit_bits, unsigned width, uint64_t init, uint64_t xorout)
{
  const uint64_t mask = (width == 64u) ? ~UINT64_C(0) : ((UINT64_C(1) << width) - 1u);
  const unsigned count = P_units(n, unit_bits);
  uint64_t all = init;
  unsigned i;
  for (i = 0u; i < count; i++) {
    all ^= P_unit(m, n, i, unit_bits);
  }
  return (all ^ xorout) & mask;
}
`,
} as const;

export const HELPER_NAMES: readonly string[] = [...Object.keys(HELPERS), 'units'];
export type Helper = keyof typeof HELPERS;
const NEEDS: Partial<Record<Helper, readonly Helper[]>> = { crc: ['unit'], sum: ['unit'], xor: ['unit'] };

/** The helpers used, those they need first, with the prefix in their names. */
export function helperSource(used: ReadonlySet<Helper>, prefix: string): string {
  const wanted = new Set([...used].flatMap((helper) => [...(NEEDS[helper] ?? []), helper]));
  const inOrder = (Object.keys(HELPERS) as Helper[]).filter((helper) => wanted.has(helper));
  return inOrder.map((helper) => HELPERS[helper].replace(/\bP_/g, `${prefix}_`)).join('\n');
}
