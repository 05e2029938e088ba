/**
 * What chambers have in common by the site file, and what may be looked at there.
 * [SU1] A utility is shared when it supplies all of the chambers in question.
 * [SU2] Of several, those count whose kind the alarm's words name; then those that supply the fewest chambers besides. Where that leaves more than
 *       one, each may be it, and all are named.
 */
import type { UtilityKind } from './equipment.ts';
import type { Utility } from './watch-rules.ts';

/** Words of the trade in alarm codes and texts; a site in another language still finds the utility by its chambers. */
const WORDS: Readonly<Record<UtilityKind, RegExp>> = {
  power: /\b(power|mains|supply) (dip|fail|loss|low)|\bsupply dip|mains|voltage|power_dip/i,
  'cooling-water': /water|coolant|cooling|chiller/i,
  'compressed-air': /compressed air|\bcda\b|cda_|pneumatic/i,
  nitrogen: /nitrogen|\bn2\b|n2_/i,
  'process-gas': /gas supply|cylinder|process gas/i,
  exhaust: /exhaust|scrubber|extraction/i,
};
const NAMES: Readonly<Record<UtilityKind, string>> = {
  power: 'power',
  'cooling-water': 'cooling water',
  'compressed-air': 'compressed air',
  nitrogen: 'nitrogen',
  'process-gas': 'process gas',
  exhaust: 'exhaust',
};
const CHECKS: Readonly<Record<UtilityKind, string>> = {
  power: 'Check the mains with the electricians. Each chamber needs a person before it runs again: pump, gauge and generator first.',
  'cooling-water': 'Check flow and temperature of the loop: pump, filter, chiller. Keep loads out until the water is back.',
  'compressed-air': 'Check the compressor and the pressure of the ring. Valves may have fallen shut in running chambers.',
  nitrogen: 'Check the pressure of the house nitrogen. Vents and purges take longer or stop until it is back.',
  'process-gas': 'Check the gas supply: cylinder, regulator, cabinet.',
  exhaust: 'Check the exhaust fan and its damper. Gas stays shut by the chambers’ own interlocks until it runs.',
};

/** [SU1] [SU2] `words`: of the alarm they share. */
export function sharedUtilities(utilities: readonly Utility[], chambers: readonly string[], words: string): readonly Utility[] {
  const common = utilities.filter((utility) => chambers.every((chamber) => utility.chambers.includes(chamber)));
  const named = common.filter(({ kind }) => WORDS[kind].test(words));
  const candidates = named.length > 0 ? named : common;
  const fewest = Math.min(...candidates.map((utility) => utility.chambers.length));
  return candidates.filter((utility) => utility.chambers.length === fewest);
}

/** Whether an alarm's words name a kind of utility. */
export const namesUtility = (words: string): boolean => Object.values(WORDS).some((word) => word.test(words));

export const utilityWords = (shared: readonly Utility[]): string | null =>
  shared.length === 0 ? null : shared.map(({ name, kind }) => `${NAMES[kind]} (${name})`).join(' or ');

export function utilityCheck(shared: readonly Utility[]): string {
  const [only] = shared;
  if (shared.length === 1 && only !== undefined) return CHECKS[only.kind];
  return shared.length === 0
    ? 'Look for what these chambers have in common: a supply, a panel, a batch of loads, a change made to all of them.'
    : 'Check what supplies all of them, the first chamber’s first.';
}
