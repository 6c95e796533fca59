/** Small functions on numbers that generated C sources share. P stands for the prefix. */
export const NUMBER_HELPERS = {
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
  divide: `/* The whole number nearest to n / d for d above 0, halves upward. */
static int64_t P_divide(int64_t n, int64_t d)
{
  int64_t quotient = n / d;
  int64_t rest = n % d;
  if (rest < 0) {
    quotient -= 1;
    rest += d;
  }
  return (rest >= d - rest) ? quotient + 1 : quotient;
}
`,
  whole_from_bcd: `/* Packed decimal digits; -1 where one of them is above 9. */
static int64_t P_whole_from_bcd(uint64_t raw)
{
  int64_t value = 0;
  int64_t weight = 1;
  while (raw != 0u) {
    const int64_t digit = (int64_t)(raw & 0xFu);
    if (digit > 9) {
      return -1;
    }
    value += digit * weight;
    weight *= 10;
    raw >>= 4;
  }
  return value;
}
`,
  whole_between: `/* Straight lines between points that rise in x, to the nearest whole number. Returns 0 outside them. */
static int P_whole_between(const int64_t *xs, const int64_t *ys, unsigned count, int64_t x, int64_t *y)
{
  unsigned i;
  if (x < xs[0] || x > xs[count - 1u]) {
    return 0;
  }
  for (i = 0u; i + 2u < count && xs[i + 1u] <= x; i++) {
  }
  if (count == 1u || x == xs[i + 1u]) {
    *y = ys[count == 1u ? 0u : i + 1u];
  } else {
    *y = ys[i] + P_divide((x - xs[i]) * (ys[i + 1u] - ys[i]), xs[i + 1u] - xs[i]);
  }
  return 1;
}
`,
  float_order: `/* A number that rises with the float whose bits these are; top is its sign bit. */
static uint64_t P_float_order(uint64_t bits, uint64_t top)
{
  return ((bits & top) != 0u) ? (~bits & (top | (top - 1u))) : (bits | top);
}
`,
} as const;
