/**
 * A chamber's alarms, in the manner of ISA-18.2: a condition stands or does not; a change is told once.
 * [AL1] Activated and cleared are each told once per change; the same word again, as after a reconnect, is not an activation.
 * [AL2] Found standing at first sight or after a hole, its begin unseen: it stands but is not counted.
 * [AL3] A code that the site file does not know still stands, under its own name, without effect.
 * [AL4] At most 200 codes are remembered: a hostile server cannot grow the state without bound.
 */
import type { AlarmDefinition, ChamberRules } from './chamber-rules.ts';
import type { AlarmStand } from './chamber-state.ts';
import type { AlarmEvent } from './event.ts';

const MOST_CODES = 200;
const LONGEST_CODE = 40;

type Alarms = Readonly<Record<string, AlarmStand>>;
export type AlarmWord = { readonly code: string; readonly active: boolean; readonly at: number; readonly eyesOpen: boolean };

/** [AL3] */
export function definitionOf(rules: ChamberRules, code: string): AlarmDefinition {
  const known = Object.hasOwn(rules.alarms, code) ? rules.alarms[code] : undefined;
  return known ?? { code, text: code, priority: 'medium', effect: 'none', notice: false };
}

/** [AL1] [AL2] The alarms after one word about one of them, and the event if something changed. Same object when nothing did. */
export function alarmTold(rules: ChamberRules, alarms: Alarms, word: AlarmWord): { alarms: Alarms; event: AlarmEvent | null } {
  const code = word.code.slice(0, LONGEST_CODE);
  const known = Object.hasOwn(alarms, code) ? alarms[code] : undefined;
  if (!known && Object.keys(alarms).length >= MOST_CODES) return { alarms, event: null };
  const stood = known?.since ?? null;
  if (known && word.active === (stood !== null)) return { alarms, event: null };
  const counted = word.active ? known !== undefined && word.eyesOpen : (known?.counted ?? false);
  const stand: AlarmStand = { since: word.active ? word.at : null, counted };
  const next = { ...alarms, [code]: stand };
  if (!word.active && stood === null) return { alarms: next, event: null };
  return {
    alarms: next,
    event: alarmEvent(definitionOf(rules, code), rules.chamber, { ...word, at: Math.max(word.at, stood ?? word.at), counted }),
  };
}

function alarmEvent(
  { code, text, priority, notice }: AlarmDefinition,
  chamber: string,
  word: Omit<AlarmWord, 'code' | 'eyesOpen'> & { counted: boolean },
): AlarmEvent {
  const { at, counted } = word;
  return {
    kind: 'alarm',
    chamber,
    at,
    code,
    text,
    priority,
    notice,
    change: word.active ? 'activated' : 'cleared',
    counted,
    suppressed: false,
  };
}

/** Codes that stand and would keep the chamber from running, by what they do to it, oldest first. */
export function standingWith(rules: ChamberRules, alarms: Alarms, effect: 'stop' | 'down'): readonly string[] {
  return Object.keys(alarms)
    .filter((code) => alarms[code]?.since !== null && definitionOf(rules, code).effect === effect)
    .sort((a, b) => (alarms[a]?.since ?? 0) - (alarms[b]?.since ?? 0));
}
