/**
 * An alert read back from a store, perhaps written by an older program.
 * [SA1] The counts of an alert of two kinds (burst, flood), which stood beside its times, are taken under `alarms`; what it did not say is null or
 *       empty, and a flood is of high, a burst of medium severity, as both are by default.
 * [SA2] What an older or newer alert of today's shape lacks is null, or empty; what is not known stays as it is.
 * [SA3] The open episodes in a stored state of the watch are taken up the same way, and what it did not know begins empty.
 */
import type { AlarmAlert } from './alert-episode.ts';
import type { WatchState } from './alert-watch.ts';
import type { Alert, AlertAlarms } from './contract.ts';

type Plain = { readonly [name: string]: unknown };
type First = Plain & AlertAlarms & { readonly kind: 'burst' | 'flood' };

const EMPTY = {
  takenAt: null,
  takenBy: null,
  cure: null,
  shares: null,
  partOf: null,
  alarms: null,
  facts: [],
} as const;

/** [SA1] [SA2] */
export function restoredAlert(stored: Plain): Alert {
  const known: Plain = 'count' in stored && !('alarms' in stored) ? ofTwoKinds(stored as First) : stored;
  return { ...EMPTY, ...known } as unknown as Alert;
}

/** [SA1] */
function ofTwoKinds({ count, rawCount, peak10Min, usual, firstOut, top, ...rest }: First): Plain {
  return { severity: rest.kind === 'flood' ? 'high' : 'medium', ...rest, alarms: { count, rawCount, peak10Min, usual, firstOut, top } };
}

/** [SA3] */
export function restoredWatch(stored: Plain, initial: WatchState): WatchState {
  const state = { ...initial, ...stored } as WatchState;
  const subjects = Object.entries(state.subjects).map(([key, { recent, episode }]) => [
    key,
    { recent, episode: episode && { ...episode, alert: restoredAlert(episode.alert) as AlarmAlert } },
  ]);
  return { ...state, subjects: Object.fromEntries(subjects) as WatchState['subjects'] };
}
