/** Names for signals: plain identifiers, unique in their frame, from what a person called an action or a quantity. */

/** "Motor speed (rpm)" -> "motor_speed_rpm"; letters of other scripts are kept apart by their code. */
export function slugOf(text: string): string {
  const plain = text
    .normalize('NFKD')
    .replace(/[\u0300-\u036f]/g, '')
    .toLowerCase();
  const slug = plain
    .replace(/[^a-z0-9]+/g, (between) =>
      /[^\s\p{P}\p{S}]/u.test(between) ? `_u${between.codePointAt(0)?.toString(16)}_` : '_',
    )
    .replace(/^_+|_+$/g, '')
    .replace(/_+/g, '_');
  if (slug === '') return 'signal';
  return /^[0-9]/.test(slug) ? `signal_${slug}` : slug;
}

/** The name itself, or with the lowest number that makes it unused. */
export function unusedName(name: string, used: ReadonlySet<string>): string {
  if (!used.has(name)) return name;
  for (let number = 2; ; number++) if (!used.has(`${name}_${number}`)) return `${name}_${number}`;
}
