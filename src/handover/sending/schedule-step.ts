/**
 * The part of a schedule's source that is the same for all: what is due is sent once, late calls make up for nothing, and a frame that was not taken stays
 * due. Words in capitals stand for names (`schedule-source.ts`).
 */
export const STEP = `
/* Moves a periodic frame on to its next turn after now; turns that lie behind are left out, never made up for. */
static void NEXT(STATE *f, const ROW *row, uint64_t now, int counts)
{
  const uint64_t turns = (now - f->due_us) / row->period_us;
  f->due_us += (turns + 1u) * row->period_us;
  if (counts) {
    f->missed += (uint32_t)turns;
  }
}

void STEM_init(STEM *s, uint32_t now_us)
{
  unsigned i;
  memset(s, 0, sizeof *s);
INITS
  s->last_us = now_us;
  for (i = 0u; i < MACRO_COUNT; i++) {
    STATE *f = &s->frames[i];
    f->on = 1u;
    f->due_us = ROWS[i].first_us;
    if (ROWS[i].period_us == 0u && ROWS[i].begins != 0u) {
      f->extra_us = ROWS[i].first_us;
      f->left = ROWS[i].burst_count;
    }
  }
  s->running = 1u;
}

/* One frame: the grid's turn, the extra one, or both at once. Returns 1 where it was sent. */
static int TURN(STEM *s, unsigned i, STEM_put put, void *user)
{
  STATE *f = &s->frames[i];
  const ROW *row = &ROWS[i];
  const uint64_t now = s->elapsed_us;
  const int turn = row->period_us != 0u && f->due_us <= now;
  const int extra = f->left != 0u && f->extra_us <= now;
  int sent = 0;
  if (!turn && !extra) {
    return 0;
  }
  if (f->on != 0u) {
    switch (SEND(s, i, put, user)) {
    case SENT:
      f->sent += 1u;
      sent = 1;
      break;
    case REFUSED:
      f->refused += 1u;
      /* The turn stays due until the next one is. */
      if (turn && now - f->due_us >= row->period_us) {
        const uint64_t turns = (now - f->due_us) / row->period_us;
        f->due_us += turns * row->period_us;
        f->missed += (uint32_t)turns;
      }
      return 0;
    default:
      f->failed += 1u;
      break;
    }
  } else {
    f->left = 0u;
  }
  if (turn) {
    NEXT(f, row, now, f->on != 0u);
  }
  if (extra && f->left != 0u) {
    f->left = (uint16_t)(f->left - 1u);
    f->extra_us = now + row->burst_us;
  }
  return sent;
}

int STEM_step(STEM *s, uint32_t now_us, STEM_put put, void *user)
{
  const uint32_t since = now_us - s->last_us;
  int sent = 0;
  unsigned i;
  /* A count that seems to run backwards (two places that call, say) moves nothing. */
  if (since < UINT32_C(0x80000000)) {
    s->elapsed_us += since;
    s->last_us = now_us;
  }
  for (i = 0u; i < MACRO_COUNT && s->running != 0u; i++) {
    sent += TURN(s, i, put, user);
  }
  return sent;
}

void STEM_switch(STEM *s, unsigned frame, int on)
{
  if (frame < MACRO_COUNT) {
    s->frames[frame].on = (uint8_t)(on != 0);
  }
}

int STEM_changed(STEM *s, unsigned frame)
{
  if (frame >= MACRO_COUNT || ROWS[frame].on_change == 0u || s->frames[frame].on == 0u) {
    return -1;
  }
  s->frames[frame].left = ROWS[frame].burst_count;
  s->frames[frame].extra_us = s->elapsed_us;
  return 0;
}

void STEM_stop(STEM *s)
{
  s->running = 0u;
}
`;
