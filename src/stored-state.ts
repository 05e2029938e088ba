/**
 * A reducer state read back from a store, perhaps written by an older program.
 * [SV1] What an older program did not know begins as for a chamber never watched; what it knew stays as it was, and what is no longer known is dropped.
 * [SV2] A field whose meaning changed raises the version and brings a step here; a state without a version is of version 1.
 * [SV3] A state of a newer program is refused: its fields may mean something this program does not know.
 */
import { UNHEARD } from './alarm.ts';
import { Fault } from './fault.ts';

export const STATE_VERSION = 3;

/** Turns a state of version n into one of version n + 1, at index n - 1. */
const STEPS: readonly ((state: Plain) => Plain)[] = [alarmsApart, holesKept];

type Plain = { readonly [name: string]: unknown };

/** [SV1]-[SV3] `initial` is of the present version; its shape decides. Throws `unreadable` for a state that is newer or no state at all. */
export function restoredState<State extends { readonly version: number }>(stored: unknown, initial: State): State {
  if (!isPlain(stored)) throw new Fault('unreadable', 'A stored state is damaged. Put back the last backup of the data folder.');
  const version = typeof stored['version'] === 'number' ? stored['version'] : 1;
  if (version > STATE_VERSION) {
    const cure = 'Update this program, or choose another folder with --data.';
    throw new Fault('unreadable', `The data folder was written by a newer Glowfleet (states of version ${version}). ${cure}`);
  }
  const upgraded = STEPS.slice(version - 1).reduce((state, step) => step(state), stored);
  return filled({ ...upgraded, version: STATE_VERSION }, initial) as State;
}

/** [SV1] Objects of fixed shape are filled one by one; lists, dictionaries (empty at first) and what may be null are taken as they are. */
function filled(stored: Plain, initial: Plain): Plain {
  return Object.fromEntries(
    Object.entries(initial).map(([name, first]) => {
      const value = stored[name];
      if (value === undefined) return [name, first];
      return [name, isPlain(first) && isPlain(value) && Object.keys(first).length > 0 ? filled(value, first) : value];
    }),
  );
}

const isPlain = (value: unknown): value is Plain => typeof value === 'object' && value !== null && !Array.isArray(value);

/** Version 2 tells apart what keeps an alarm from being annunciated, and knows confirmations and branches. */
function alarmsApart(state: Plain): Plain {
  const alarms = isPlain(state['alarms']) ? state['alarms'] : {};
  const apart = (stand: Plain): Plain => ({ ...UNHEARD, ...stand, suppressedAs: stand['suppressed'] === true ? ['not told which'] : [] });
  return {
    ...state,
    alarms: Object.fromEntries(Object.entries(alarms).map(([code, stand]) => [code, isPlain(stand) ? apart(stand) : UNHEARD])),
  };
}

/** Version 3 keeps the holes of a run; of those before only their sum is known. */
function holesKept(state: Plain): Plain {
  const kept = (run: unknown): unknown => (isPlain(run) ? { holes: [], ...run } : run);
  return { ...state, run: kept(state['run'] ?? null), lastRun: kept(state['lastRun'] ?? null) };
}
