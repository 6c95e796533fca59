/** What the tests use of a general-purpose statistics library that ships no types. */
declare module 'jstat' {
  export const jStat: {
    readonly normal: {
      cdf(z: number, mean: number, sd: number): number;
      inv(share: number, mean: number, sd: number): number;
    };
    readonly studentt: { inv(share: number, degrees: number): number };
    erfc(x: number): number;
  };
}
