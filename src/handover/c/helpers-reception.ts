/** Functions that judge what arrives. P stands for the prefix, M for it in capitals. */
export const RECEPTION_HELPERS = {
  judge: `/* What a counter must keep to. "inverse" turns a difference, counted in "unit", into steps; 0: only one step is judged. */
typedef struct {
  uint64_t min;
  uint64_t modulus;
  uint64_t step;
  uint64_t unit;
  uint64_t inverse;
  uint32_t every;
} P_count_rule;

/* Steps of the rule from the last value to this one, which is another; 0 where the rule never leads there. */
static uint64_t P_steps(const P_count_rule *rule, uint64_t difference)
{
  if (difference == rule->step) {
    return 1u;
  }
  if (rule->inverse == 0u || difference % rule->unit != 0u) {
    return 0u;
  }
  return ((difference / rule->unit) * rule->inverse) % (rule->modulus / rule->unit);
}

/* Holds a counter's value against the last one. Returns 1 where the frame brings something new, 0 where it does not or
   cannot be trusted. Skipped frames are the fewest that explain the value: whole turns of the counter go unseen. */
static int P_judge(const P_count_rule *rule, P_count *c, uint64_t raw)
{
  const uint64_t value = raw - rule->min;
  uint64_t difference;
  uint64_t steps;
  uint64_t missing;
  c->skipped = 0u;
  if (raw < rule->min || value >= rule->modulus) {
    c->verdict = M_COUNT_WRONG;
    return 0;
  }
  if (c->held == 0u) {
    c->verdict = M_COUNT_FIRST;
    c->last = value;
    c->held = 1u;
    c->whole = (uint8_t)(rule->every == 1u);
    return 1;
  }
  difference = (value + rule->modulus - c->last) % rule->modulus;
  if (difference == 0u) {
    const int is_new = c->held < rule->every;
    c->held += is_new ? 1u : 0u;
    c->verdict = (uint8_t)(is_new ? M_COUNT_EXPECTED : M_COUNT_REPEATED);
    return is_new;
  }
  steps = P_steps(rule, difference);
  missing = (steps - 1u) * rule->every + (c->whole ? (uint64_t)rule->every - c->held : 0u);
  c->last = value;
  c->held = 1u;
  c->whole = (uint8_t)(rule->every == 1u || (steps == 1u && missing == 0u));
  if (steps == 0u) {
    c->verdict = M_COUNT_WRONG;
    return 0;
  }
  c->skipped = (missing > UINT32_MAX) ? UINT32_MAX : (uint32_t)missing;
  c->verdict = (uint8_t)((missing == 0u) ? M_COUNT_EXPECTED : M_COUNT_SKIPPED);
  return 1;
}
`,
  late: `/* Whether more than "most" microseconds have gone by. A moment that lies ahead (by less than half of what 32 bits hold)
   is not late: a frame may be stamped after the time was read. */
static int P_late(uint32_t since_us, uint32_t now_us, uint32_t most_us)
{
  const uint32_t age = now_us - since_us;
  return age <= UINT32_C(0x7FFFFFFF) && age > most_us;
}
`,
} as const;
