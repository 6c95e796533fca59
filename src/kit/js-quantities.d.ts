/** What is used of the package js-quantities, which brings no types. */
declare module 'js-quantities/esm' {
  interface Quantity {
    readonly scalar: number;
    /** Throws where the units are not of one kind. */
    to(unit: string): Quantity;
  }
  /** Throws on a unit that it does not know. */
  export default function Qty(value: number, unit: string): Quantity;
}
