/** Keys of Marks: one letter an action, in the order of the tracks. */
export const ACTION_KEYS: readonly string[] = ['q', 'w', 'e', 't', 'y', 'u', 'i', 'o', 'p', 'd', 'g', 'h'];
