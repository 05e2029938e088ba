/**
 * Which maintenance begins which baseline anew.
 * [DZ1] Work told by a person on a part begins anew the figures that hang on that part, at the end of the entry, and no others.
 * [DZ2] Maintenance of which nobody said what was worked on begins nothing anew: it is a mark on the chart. A baseline thrown away without a reason
 *       would hide what drifts.
 */
import type { SymptomName } from './drift-cause.ts';
import type { WorkedOn } from './equipment.ts';

/** Work that was done, ended at `at`. */
export type Work = { readonly at: number; readonly parts: readonly WorkedOn[] };

const VACUUM: readonly SymptomName[] = ['pump-down', 'pump-down-tail', 'empty-tail', 'base-pressure', 'plasma-pressure'];
const POWER: readonly SymptomName[] = ['reflected-fraction', 'delivered-energy', 'ignition-delay'];

/** [DZ1] */
const HANGS_ON: Readonly<Record<WorkedOn, readonly SymptomName[]>> = {
  pump: [...VACUUM, 'pump-down-first', 'pump-down-middle'],
  gauge: [...VACUUM, 'pump-down-first', 'pump-down-middle', 'rate-of-rise'],
  seal: [...VACUUM, 'rate-of-rise', 'vent'],
  gas: ['flow-zero', 'flow-deviation', 'plasma-pressure', 'purge', 'vent'],
  match: POWER,
  electrode: POWER,
};

/** [DZ1] The instants at which the baseline of `name` began anew, as given. */
export const resets = (work: readonly Work[], name: SymptomName): readonly number[] =>
  work.filter(({ parts }) => parts.some((part) => HANGS_ON[part].includes(name))).map(({ at }) => at);
