/**
 * What a donor that cannot drive (pyro fuse fired, pack dead) or a part on the bench cannot show, however often it is recorded, and what to do instead:
 * trade knowledge (common practice, no source). It is said rather than left out, so that nobody takes what was not asked for as met.
 */
import type { ModeSpan } from '../../timing/types.ts';
import { isLongEnough } from './span-needs.ts';
import type { BeyondDonor, DonorCan } from './types.ts';

const ANOTHER = 'record another vehicle of the type and carry its map over (prove --carry)';

const READY: BeyondDonor = {
  about: 'ready',
  says: 'Contactors that stay open leave link voltage, insulation and the order of contactors at rest.',
  instead: `Later, on the bench, a current-limited reference supply in the pack's place, with meter readings as --reference; or ${ANOTHER}.`,
};
const DRIVING: BeyondDonor = {
  about: 'driving',
  says: 'Nothing turns: speeds, torque and phase currents keep to zero, and their places, signs and scales stay unknown.',
  instead: `Turn the shaft by hand or by another machine with the inverter's supply on, in both ways, with readings of its speed as --reference; or ${ANOTHER}.`,
};
const CHARGING: BeyondDonor = {
  about: 'charging',
  says: 'The plug is not answered without a pack: what charger and pack agree on is not said.',
  instead: `Take charger, inlet and pack from one vehicle and record them on the bench together; or ${ANOTHER}.`,
};
const PARTNERS: BeyondDonor = {
  about: 'partners',
  says: 'Who sends to the part, and what it does when they fall silent, is not on a bench without them.',
  instead: `Record the vehicle with the key on before the part comes out; or ${ANOTHER}. Until then what the part waits for is a guess, and is sent by bench trial only.`,
};

const BEYOND: Readonly<Record<DonorCan, readonly BeyondDonor[]>> = {
  drive: [],
  'key-on': [READY, DRIVING, CHARGING],
  bench: [PARTNERS, READY, DRIVING, CHARGING],
};

/** @param modes of the survey: what was seen after all is not beyond the donor */
export const beyondDonor = (donor: DonorCan, modes: readonly ModeSpan[]): readonly BeyondDonor[] =>
  BEYOND[donor].filter(({ about }) => !isLongEnough(about, modes));
