/**
 * Process checks told at once and kept for ever.
 * [FN1] Vented (at atmosphere, or opened, where nobody reads the vent valve) sooner than the shortest purge after the last fluorinated gas:
 *       purge-short, once per run. Gas that ended in a hole may have ended as that began: only what was too short even so is told.
 * [FN2] Vent valve and pump valve open together for more than a second.
 * [FN3] Gas on with the door open, for as long as it takes to tell an open door from a chattering contact. Glowfleet only tells; the machine's interlock is what protects.
 * [FN4] The controller's phase and the signals contradict each other for 30 s: once per contradiction.
 */
import type { Change } from './change.ts';
import type { EventOf } from './event.ts';
import { contradicts, MISMATCH_MS } from './phase-tag.ts';
import { NEVER } from './flag.ts';

type Code = EventOf<'finding'>['code'];

function find({ rules, s, events }: Change, code: Code, at: number, text: string): void {
  events.push({ kind: 'finding', chamber: rules.chamber, at, code, text, run: s.run?.run ?? s.lastRun?.run ?? null });
}

/** [FN2] [FN3] A flag has just turned on. */
export function findByFlag(change: Change, flag: 'ventOnPump' | 'gasOnDoor', at: number): void {
  if (flag === 'ventOnPump') find(change, 'vent-with-pump-valve-open', at, 'Vent valve and pump valve were open together.');
  else find(change, 'gas-with-door-open', at, 'Process gas flowed while the door was open.');
}

/** [FN1] Called as venting, atmosphere or opening begins. Where nobody reads the pump valve it may have been open until then. */
export function findShortPurge(change: Change, at: number): void {
  const { rules, s } = change;
  const { fluorine, pumping } = s.flags;
  if (s.purgeTold || fluorine.on === null || !s.sequence.fluorinated) return;
  const pumpedUntil = pumping.on === false ? pumping.since : at;
  const purgedMs = fluorine.on ? 0 : Math.max(0, pumpedUntil - fluorine.since);
  if (purgedMs >= rules.shortestPurgeMs) return;
  s.purgeTold = true;
  const seconds = (ms: number): string => (ms / 1000).toFixed(0);
  find(
    change,
    'purge-short',
    at,
    `Vented after only ${seconds(purgedMs)} s of pumping since the last fluorinated gas; the shortest purge is ${seconds(rules.shortestPurgeMs)} s.`,
  );
}

/** [FN4] */
export function findMismatch(change: Change, byTag: boolean, now: number): void {
  const { s } = change;
  const apart = byTag && s.tagPhase !== null && contradicts(s.tagPhase, s.sequence.phase);
  if (!apart) {
    if (s.mismatchSince !== NEVER) s.mismatchSince = NEVER;
    s.mismatchTold = false;
    return;
  }
  if (s.mismatchSince === NEVER) s.mismatchSince = now;
  if (s.mismatchTold || now < s.mismatchSince + MISMATCH_MS) return;
  s.mismatchTold = true;
  find(change, 'phase-tag-mismatch', s.mismatchSince, `The controller says ${s.tagPhase}, the signals say ${s.sequence.phase}.`);
}
