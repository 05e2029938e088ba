/**
 * The reasons a person can choose from, by state, in trade words: what is meant unless the site file brings its own list. Contents of the
 * states in the manner of SEMI E10 (from memory; user maintenance delay, no operator, no product and no support tool as in IPC-2591).
 * [RL1] A reason is known by its state and its words together; what it stands for is kept with each entry, so that a later list changes no
 *       earlier number.
 */
import type { DowntimeKind, ToldState, WorkedOn } from './equipment.ts';

export type Reason = {
  readonly state: ToldState;
  readonly reason: string;
  /** Which kind of downtime it is; null for none of them. */
  readonly downtime: DowntimeKind | null;
  /** What maintenance usually worked on then. */
  readonly workedOn: readonly WorkedOn[];
};

const reasons = (
  state: ToldState,
  list: readonly (readonly [reason: string, downtime?: DowntimeKind | null, workedOn?: readonly WorkedOn[]])[],
) => list.map(([reason, downtime = null, workedOn = []]): Reason => ({ state, reason, downtime, workedOn }));

export const DEFAULT_REASONS: readonly Reason[] = [
  ...reasons('unscheduled-downtime', [
    ['repair', 'repair'],
    ['RF generator or match', 'repair', ['match']],
    ['vacuum pump', 'repair', ['pump']],
    ['vacuum leak', 'repair', ['seal']],
    ['gas line', 'repair', ['gas']],
    ['waiting for maintenance', 'user-delay'],
    ['waiting for parts', 'supplier-delay'],
    ['test after repair', 'test'],
    ['cleared by operator', 'assist'],
    ['out of spec', 'out-of-spec-input'],
    ['facilities: power', 'facilities'],
    ['facilities: cooling water', 'facilities'],
    ['facilities: compressed air', 'facilities'],
    ['facilities: process gas', 'facilities'],
    ['facilities: exhaust', 'facilities'],
  ]),
  ...reasons('scheduled-downtime', [
    ['preventive maintenance'],
    ['cleaning', null, ['electrode']],
    ['calibration', null, ['gauge', 'gas']],
    ['pump service', null, ['pump']],
    ['consumables change'],
    ['setup'],
    ['test after maintenance', 'test'],
    ['waiting for technician', 'user-delay'],
    ['facilities, announced', 'facilities'],
  ]),
  ...reasons('standby', [['no operator'], ['no product'], ['no support tool'], ['waiting for laboratory']]),
  ...reasons('engineering', [['trial'], ['qualification'], ['conditioning']]),
  ...reasons('productive', [['regular work'], ['rework']]),
];

/** [RL1] */
export const reasonOf = (list: readonly Reason[], state: ToldState, reason: string): Reason | undefined =>
  list.find((one) => one.state === state && one.reason === reason);
