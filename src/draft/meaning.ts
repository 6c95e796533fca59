/** What fields mean, as far as the capture tells: the part each plays, and the laws between them. One entry for the draft, the page and the command line. */
import { part, type Control } from '../kit/control.ts';
import { crossCheck } from './cross-checks/find.ts';
import type { CrossCheckReport } from './cross-checks/types.ts';
import { nameFields } from './naming/find.ts';
import type { NamingReport } from './naming/types.ts';
import { findRoles, prepareForRoles, type RolesInput } from './roles/find.ts';
import type { RoleReport } from './roles/types.ts';

export interface MeaningReport {
  readonly roles: RoleReport;
  readonly checks: CrossCheckReport;
  /** For a person to choose from; the map takes nothing of it. */
  readonly naming: NamingReport;
}

/** Deterministic for one seed. */
export async function findMeaning(input: RolesInput, control: Control): Promise<MeaningReport> {
  const asked = await prepareForRoles(input, part(control, 0, 0.3));
  const roles = await findRoles(input, asked, part(control, 0.3, 0.8));
  const checks = await crossCheck({ ...asked, lengthUs: input.table.endUs, roles }, part(control, 0.8, 1));
  const naming = nameFields({ fields: asked.fields, roles, checks, links: input.links ?? null });
  return { roles, checks, naming };
}
