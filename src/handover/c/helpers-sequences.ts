/** Functions that follow a sequence of steps. P stands for the prefix, M for it in capitals. */
export const SEQUENCE_HELPERS = {
  step_rules: `/* Microseconds since the first step; always: its absence is a fault; after: 1 + the step that must come before, 0: none. */
typedef struct {
  uint32_t low_us;
  uint32_t high_us;
  uint8_t always;
  uint8_t after;
} P_step_rule;

/* A step is open once what it waits for is not there, and the step before it of the same signal has come. */
static void P_open(uint8_t *steps, const uint8_t *holds, const P_step_rule *rules, unsigned i)
{
  if (steps[i] == 0u && !holds[i] && (rules[i].after == 0u || steps[rules[i].after - 1u] == 2u)) {
    steps[i] = 1u;
  }
}
`,
  begin: `static void P_begin(P_sequence *q, uint8_t *steps, const uint8_t *holds, const P_step_rule *rules, unsigned count,
                    uint32_t now_us)
{
  unsigned i;
  q->begun_us = now_us;
  q->first_us = now_us;
  q->moving = 0u;
  q->result = M_SEQUENCE_WAITING;
  q->step = 0u;
  for (i = 0u; i < count; i++) {
    steps[i] = 0u;
    P_open(steps, holds, rules, i);
  }
}
`,
  follow: `/* Whether a step that was always seen before step i has not come yet. */
static int P_out_of_order(const uint8_t *steps, const P_step_rule *rules, unsigned count, unsigned i)
{
  unsigned j;
  for (j = 0u; j < count; j++) {
    if (steps[j] != 2u && rules[j].always && rules[j].high_us < rules[i].low_us) {
      return 1;
    }
  }
  return 0;
}

static void P_came(P_sequence *q, const uint8_t *steps, const P_step_rule *rules, unsigned count, unsigned i,
                   uint32_t now_us)
{
  uint32_t since;
  if (!q->moving) {
    q->moving = 1u;
    q->first_us = now_us;
  }
  since = now_us - q->first_us;
  q->step = (uint8_t)i;
  if (P_out_of_order(steps, rules, count, i)) {
    q->result = M_SEQUENCE_OUT_OF_ORDER;
  } else if (since < rules[i].low_us) {
    q->result = M_SEQUENCE_EARLY;
  } else if (since > rules[i].high_us) {
    q->result = M_SEQUENCE_LATE;
  }
}

/* The first step always seen that is open; late where its time is over. */
static void P_wait(P_sequence *q, const uint8_t *steps, const P_step_rule *rules, unsigned count, uint32_t first_us,
                   uint32_t now_us)
{
  unsigned i;
  unsigned open = count;
  for (i = 0u; i < count; i++) {
    if (steps[i] != 2u && rules[i].always) {
      open = (open == count) ? i : open;
      if (q->moving ? P_late(q->first_us, now_us, rules[i].high_us) : P_late(q->begun_us, now_us, first_us)) {
        q->result = M_SEQUENCE_LATE;
        q->step = (uint8_t)i;
        return;
      }
    }
  }
  if (open < count) {
    q->step = (uint8_t)open;
  } else if (q->moving) {
    q->result = M_SEQUENCE_DONE;
  }
}

static void P_follow(P_sequence *q, uint8_t *steps, const uint8_t *holds, const P_step_rule *rules, unsigned count,
                     uint32_t first_us, uint32_t now_us)
{
  unsigned i;
  /* What is late is so before anything that comes now: the answer must not depend on how often it is asked. */
  if (q->result == M_SEQUENCE_WAITING) {
    P_wait(q, steps, rules, count, first_us, now_us);
  }
  for (i = 0u; i < count && q->result == M_SEQUENCE_WAITING; i++) {
    P_open(steps, holds, rules, i);
    if (steps[i] == 1u && holds[i]) {
      steps[i] = 2u;
      P_came(q, steps, rules, count, i, now_us);
    }
  }
  if (q->result == M_SEQUENCE_WAITING) {
    P_wait(q, steps, rules, count, first_us, now_us);
  }
}
`,
} as const;
