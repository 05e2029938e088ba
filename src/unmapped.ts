/**
 * What a chamber no longer tells because another site file maps it no more.
 * [UM1] What is dropped of a chamber is what the file before mapped and the file after does not; a chamber that came or went drops nothing.
 * [UM2] A signal that is no longer mapped is as if it had never been told: it decides nothing from then on, and is not called bad.
 * [UM3] A flag that hangs on other signals too keeps its value as long as one of them can still decide it.
 * [UM4] A heartbeat that is no longer mapped cannot freeze, and a chamber that it held frozen is known again once its values have settled.
 */
import type { ChamberRules } from './chamber-rules.ts';
import type { ChamberState, FlagName } from './chamber-state.ts';
import { UNSEEN } from './flag.ts';
import { SETTLE_MS } from './hole.ts';
import { slotOf, wanted } from './inputs.ts';
import type { LinkSite } from './link-need.ts';
import { isSignalName, type SignalName } from './signal.ts';
import { templateOf } from './tag-map.ts';

export type Dropped = { readonly chamber: string; readonly signals: readonly SignalName[]; readonly alarms: readonly string[] };
type MapSite = Pick<LinkSite, 'chambers' | 'templates'>;

/** [UM1] Only chambers that drop something. */
export function droppedBetween(before: MapSite, after: MapSite): readonly Dropped[] {
  return before.chambers.flatMap((was) => {
    const is = after.chambers.find(({ id }) => id === was.id);
    if (is === undefined) return [];
    const signals = signalsOf(before, was).filter((signal) => !signalsOf(after, is).includes(signal));
    const known = templateOf(after, is).alarms;
    const alarms = Object.keys(templateOf(before, was).alarms).filter((code) => !Object.hasOwn(known, code));
    return signals.length + alarms.length === 0 ? [] : [{ chamber: was.id, signals, alarms }];
  });
}

function signalsOf(site: MapSite, chamber: MapSite['chambers'][number]): readonly SignalName[] {
  const tags = { ...templateOf(site, chamber).tags, ...chamber.tags };
  return Object.keys(tags).filter((signal): signal is SignalName => isSignalName(signal) && Boolean(tags[signal]));
}

/** [UM2] [UM3] [UM4] */
export function withoutSignals(rules: ChamberRules, whole: ChamberState, signals: readonly SignalName[]): ChamberState {
  const state = signals.includes('controller.heartbeat') ? withoutHeartbeat(whole) : whole;
  const slots = signals.flatMap((signal) => slotOf(signal) ?? []);
  if (slots.length === 0) return state;
  const keys = slots.map(({ key }) => key);
  const inputs = { ...state.inputs, ...Object.fromEntries(keys.map((key) => [key, null])) };
  const undecided = (name: FlagName): boolean => wanted(name, inputs, rules, state.flags[name].on) === null;
  const flags = slots.flatMap((slot) => slot.flags).filter(undecided);
  return {
    ...state,
    inputs,
    bad: state.bad.filter((key) => !keys.includes(key)),
    flags: { ...state.flags, ...Object.fromEntries(flags.map((name) => [name, UNSEEN])) },
    ...(keys.includes('phaseCode') ? { tagPhase: null, tagNext: null } : {}),
    ...(keys.includes('mode') ? { mode: 'auto', modeSince: state.now } : {}),
  };
}

/** [UM4] */
function withoutHeartbeat(state: ChamberState): ChamberState {
  const { presence, now } = state;
  const still = { ...presence, beat: null, beatMs: 0 };
  if (!presence.frozen) return { ...state, presence: still };
  const settledAt = now + SETTLE_MS;
  return { ...state, presence: { ...still, frozen: false, word: 'settling', heardAt: now, firstHeardAt: now, settledAt }, due: settledAt };
}
