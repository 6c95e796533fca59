/** "14:05", in the zone of the machine that shows it. @param ms milliseconds since 1970, UTC */
export const wallClock = (ms: number): string =>
  new Date(ms).toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit' });
