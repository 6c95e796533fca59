/** Functions on messages that generated C sources share: units, CRC bit by bit, sums, exclusive or. P stands for the prefix. */
export const CHECKSUM_HELPERS = {
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
  flip: `/* The low bits of a register the other way round. */
static uint64_t P_flip(uint64_t reg, unsigned width)
{
  uint64_t out = 0u;
  unsigned k;
  for (k = 0u; k < width; k++) {
    out |= ((reg >> k) & 1u) << (width - 1u - k);
  }
  return out;
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
    const uint64_t unit = P_unit(m, n, i, unit_bits);
    total += unit;
    /* A carry out of 64 bits has nowhere to wait for the fold below. */
    if (end_around && width == 64u && total < unit) {
      total += 1u;
    }
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
