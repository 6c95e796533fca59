/** What fields mean, as far as the capture tells: the part each plays. One entry for the draft, the page and the command line. */
import { part, type Control } from '../kit/control.ts';
import { findRoles, type RolesInput } from './roles/find.ts';
import type { RoleReport } from './roles/types.ts';

export interface MeaningReport {
  readonly roles: RoleReport;
}

/** Deterministic for one seed. */
export async function findMeaning(input: RolesInput, control: Control): Promise<MeaningReport> {
  return { roles: await findRoles(input, part(control, 0, 1)) };
}
