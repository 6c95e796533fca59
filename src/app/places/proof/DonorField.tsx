/** What the donor can still do: recordings are proposed by it. */
import type { ReactNode } from 'react';
import { DONORS, sayDonor, useDonor } from './asking.ts';

export function DonorField(): ReactNode {
  const donor = useDonor();
  return (
    <label className="line-of proof-donor">
      <span className="dim">The donor can</span>
      <select
        className="field"
        value={donor}
        onChange={({ target }) => sayDonor(DONORS.find(({ can }) => can === target.value)?.can ?? 'drive')}
      >
        {DONORS.map(({ can, words }) => (
          <option key={can} value={can}>
            {words}
          </option>
        ))}
      </select>
      <kbd>D</kbd>
    </label>
  );
}
