/**
 * How sure each way of telling a role is: claims that were right of all, over 24 machines of the evidence simulator that no rule was tuned to
 * (`tests/truth/roles.test.ts`, fields as they truly are), as (right + 1) / (all + 2), cut to what is safe to say of other makers' vehicles.
 */
export const CONFIDENCE = {
  /** 126 of 126; with a sender that is not settled 5 of 5 among them. */
  command: 0.95,
  /** 63 of 64 over twelve machines. */
  follower: 0.95,
  /** 83 of 99. */
  copy: 0.8,
  /** 12 of 16 on one vehicle of the demo's simulator; the few of the other that have a role there are echoes of a speed, 0 of 4. */
  gathers: 0.7,
  /** Not counted: such fields have no role there. */
  answers: 0.8,
  /** 188 of 229 over twelve machines: the others are enables and faults that did not show it. */
  values: 0.8,
  /** 51 of 51 over twelve machines. Other vehicles name and mark what is touched less well. */
  input: 0.85,
  /** What only heads a chain: 4 of 5. */
  head: 0.5,
  /** 33 of 35. */
  limit: 0.85,
  /** 18 of 18. */
  enable: 0.9,
  /** 26 of 26. */
  fault: 0.9,
} as const;

/** Without a settled sender a field's own frame is all that rules out an answer of its own. */
export const UNSETTLED = 0.85;
