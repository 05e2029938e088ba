/**
 * Reads an unknown server's variables as chambers: which objects look like chambers (chamber-roots.ts), and which of their variables could be
 * which signal (signal-fit.ts) or alarm (found-alarms.ts). A proposal with its reasons, for a person to judge; nothing is decided here.
 * [DS9] A utility that is told once beside the chambers is each chamber's that has none of its own.
 */
import { chamberRoots, isEnough, startsWith } from './chamber-roots.ts';
import type { Candidate, FoundChamber, FoundCondition, FoundVariable } from './found.ts';
import { alarmOf, isAlarm, isAlarmWord, unlike } from './found-alarms.ts';
import { assigned, inOrder } from './signal-fit.ts';
import { CORE_SIGNALS } from './signal-words.ts';

/** The chambers of a server, in order of path. */
export function discover(variables: readonly FoundVariable[], conditions: readonly FoundCondition[] = []): readonly FoundChamber[] {
  const roots = chamberRoots(variables);
  const under = (root: readonly string[]): readonly FoundVariable[] => variables.filter(({ path }) => startsWith(path, root));
  const told = (root: readonly string[]): readonly FoundCondition[] => conditions.filter(({ path }) => startsWith(path, root));
  const beside = variables.filter(({ path }) => !roots.some((root) => startsWith(path, root)));
  const shared = assigned(beside, 0).filter(({ signal }) => signal.startsWith('utility.'));
  const chambers = roots.map((root) => chamberOf(root, under(root), told(root)));
  const isAny = chambers.some(({ candidates }) => isEnough(candidates));
  return isAny ? chambers.map((chamber) => withShared(chamber, shared)) : [];
}

/** [DS9] */
function withShared(chamber: FoundChamber, shared: readonly Candidate[]): FoundChamber {
  const added = shared.filter(({ signal }) => !chamber.candidates.some((own) => own.signal === signal));
  const told = added.map((one) => ({ ...one, reason: `told once for all chambers; ${one.reason}` }));
  return { ...chamber, candidates: inOrder([...chamber.candidates, ...told]) };
}

function chamberOf(root: readonly string[], variables: readonly FoundVariable[], conditions: readonly FoundCondition[]): FoundChamber {
  const alarms = variables.filter((variable) => isAlarm(variable, root.length)).map(alarmOf);
  const alarmWords = variables.filter(isAlarmWord);
  const taken = new Set([...alarms.map(({ variable }) => variable), ...alarmWords]);
  const candidates = assigned(
    variables.filter((variable) => !taken.has(variable)),
    root.length,
  );
  for (const { variable } of candidates) taken.add(variable);
  return {
    name: root.at(-1) ?? 'chamber',
    path: root,
    candidates,
    alarms: unlike(alarms),
    alarmWords,
    conditions,
    unused: variables.filter((variable) => !taken.has(variable)),
    missing: CORE_SIGNALS.filter((signal) => !candidates.some((candidate) => candidate.signal === signal)),
  };
}
