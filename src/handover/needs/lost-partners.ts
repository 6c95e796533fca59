/**
 * Which module a code of lost communication says is missing (SAE J2012, network codes U0100 to U0299; these few from memory): a hint to a
 * person, since makers use the numbers freely and a code speaks of a module and not of a frame.
 */
const PARTNERS: Readonly<Record<string, string>> = {
  U0100: 'engine or powertrain control',
  U0101: 'transmission control',
  U0110: 'drive motor control',
  U0111: 'battery energy control',
  U0121: 'anti-lock brake control',
  U0126: 'steering angle sensor',
  U0131: 'power steering control',
  U0140: 'body control',
  U0146: 'gateway',
  U0151: 'restraints control',
  U0155: 'instrument cluster',
  U0164: 'climate control',
};

/** "U0100-87 (lost communication with engine or powertrain control)" */
export function lostCodeWords(code: string): string {
  const partner = PARTNERS[code.slice(0, 5)];
  return `${code} (lost communication${partner ? ` with ${partner}` : ''})`;
}
