/**
 * A chamber's alarms, in the manner of ISA-18.2: a condition stands or does not; a change is told once.
 * [AL1] Activated and cleared are each told once per change; the same word again, as after a reconnect, is not an activation.
 * [AL2] Found standing at first sight or after a hole, its begin unseen: it stands but is not counted.
 * [AL3] A code that the site file does not know still stands, under its own name, without effect.
 * [AL4] At most 200 codes are remembered: a hostile server cannot grow the state without bound.
 * [AL5] Shelved, suppressed or out of service when it is activated: told as suppressed. A change of that alone is no activation.
 * [AL6] Acknowledged at the machine is told once, when it was seen to happen; each activation is to be acknowledged anew.
 */
import type { AlarmDefinition, ChamberRules } from './chamber-rules.ts';
import type { AlarmStand } from './chamber-state.ts';
import type { AlarmEvent } from './event.ts';
import type { AlarmSide } from './signal.ts';

const MOST_CODES = 200;
const LONGEST_CODE = 40;

type Alarms = Readonly<Record<string, AlarmStand>>;
export type AlarmWord = {
  readonly code: string;
  readonly side: AlarmSide;
  readonly is: boolean;
  readonly at: number;
  readonly eyesOpen: boolean;
};
type Told = { readonly alarms: Alarms; readonly event: AlarmEvent | null };

const UNHEARD: AlarmStand = { since: null, heard: false, counted: false, suppressed: false, acknowledged: null };

/** [AL3] */
export function definitionOf(rules: ChamberRules, code: string): AlarmDefinition {
  const known = Object.hasOwn(rules.alarms, code) ? rules.alarms[code] : undefined;
  return known ?? { code, text: code, priority: 'medium', effect: 'none', notice: false };
}

/** [AL1]-[AL6] The alarms after one word about one of them, and the event if something is to be told. Same object when nothing changed. */
export function alarmTold(rules: ChamberRules, alarms: Alarms, word: AlarmWord): Told {
  const code = word.code.slice(0, LONGEST_CODE);
  const known = Object.hasOwn(alarms, code) ? alarms[code] : undefined;
  if (!known && Object.keys(alarms).length >= MOST_CODES) return { alarms, event: null };
  const { stand, change } = word.side === 'active' ? activeTold(known, word) : sideTold(known, word);
  if (stand === undefined || stand === known) return { alarms, event: null };
  const next = { ...alarms, [code]: stand };
  if (change === null) return { alarms: next, event: null };
  const at = change === 'cleared' ? Math.max(word.at, known?.since ?? word.at) : word.at;
  const { text, priority, notice } = definitionOf(rules, code);
  const { counted, suppressed } = stand;
  return { alarms: next, event: { kind: 'alarm', chamber: rules.chamber, at, code, text, priority, notice, change, counted, suppressed } };
}

type Turn = { readonly stand: AlarmStand | undefined; readonly change: AlarmEvent['change'] | null };

/** [AL1] [AL2] */
function activeTold(known: AlarmStand | undefined, { is, at, eyesOpen }: AlarmWord): Turn {
  const { since, heard, counted, ...sides } = known ?? UNHEARD;
  if (heard && is === (since !== null)) return { stand: known, change: null };
  const stand = { ...sides, heard: true, since: is ? at : null, counted: is ? heard && eyesOpen : counted };
  return { stand, change: is ? 'activated' : since === null ? null : 'cleared' };
}

/** [AL5] [AL6] */
function sideTold(known: AlarmStand | undefined, { side, is, eyesOpen }: AlarmWord): Turn {
  const before = known ?? UNHEARD;
  if (side === 'suppressed') return { stand: before.suppressed === is ? known : { ...before, suppressed: is }, change: null };
  if (before.acknowledged === is) return { stand: known, change: null };
  const seen = is && before.acknowledged === false && before.heard && eyesOpen;
  return { stand: { ...before, acknowledged: is }, change: seen ? 'acknowledged' : null };
}

/** Codes that stand and would keep the chamber from running, by what they do to it, oldest first. */
export function standingWith(rules: ChamberRules, alarms: Alarms, effect: 'stop' | 'down'): readonly string[] {
  return Object.keys(alarms)
    .filter((code) => alarms[code]?.since !== null && definitionOf(rules, code).effect === effect)
    .sort((a, b) => (alarms[a]?.since ?? 0) - (alarms[b]?.since ?? 0));
}
