/**
 * When nobody knows what a chamber does, and what is known once it is heard again. A healthy link that carries no knowledge: sight.ts.
 * [HO1] Silence begins when the link says so, at the time last heard, or when a heartbeat that used to change stands still for 15 s
 *       (or three of its usual intervals), at its last change.
 * [HO2] A hole no longer than the bridge is closed as if nothing had been, and the state before it goes on since it began; a longer one is
 *       unobserved from last heard to first heard.
 * [HO3] While the link has not said it is alive again, every stretch between two words is measured so, by when they were received: what a
 *       device measured meanwhile, or a slow clock stamps as if it had, does not fill a hole that nobody listened through.
 * [HO4] After a hole values may still come in: the phase is judged once they have settled, and dated back to the first word.
 * [HO5] The same run goes on after a hole unless load, recipe or order of phases say otherwise.
 * [HO6] A first word older than a minute is only remembered: nobody watched since then.
 */
import type { Change } from './change.ts';
import type { Presence } from './chamber-state.ts';
import { NEVER } from './flag.ts';
import type { Reading } from './reading.ts';

export const FRESH_MS = 60_000;
export const SETTLE_MS = 2_000;

export const NO_PRESENCE: Presence = {
  word: 'never',
  heardAt: 0,
  silent: true,
  lostAt: 0,
  firstHeardAt: 0,
  settledAt: NEVER,
  beat: null,
  beatAt: 0,
  beatMs: 0,
  frozen: false,
  blind: false,
};

/** [HO1] The link was silent since the later of `at` and the last word. */
export function fallSilent(change: Change, at: number): void {
  const { s } = change;
  const { word, silent } = s.presence;
  const heardAt = Math.max(at, s.now);
  if (word === 'never' || (silent && word === 'lost')) return;
  s.presence = { ...s.presence, silent: true, heardAt };
  s.now = heardAt;
  lose(change, heardAt);
}

/** [HO1] From `from` on nobody knows. */
export function lose(change: Change, from: number): void {
  const { s, rules, events } = change;
  const { presence, equipment } = s;
  if (presence.word === 'lost') return;
  s.due = NEVER;
  if (presence.word === 'settling') {
    s.presence = { ...presence, word: 'lost', settledAt: NEVER };
    return;
  }
  // Never at the same instant as the hole before: the same fact again would be ignored as known (event.ts [EV1]).
  const lostAt = Math.max(from, equipment.since, presence.lostAt + 1);
  s.presence = { ...presence, word: 'lost', lostAt };
  if (equipment.state === 'unobserved') return;
  s.before = equipment;
  s.equipment = { state: 'unobserved', reason: 'no data', since: lostAt, heldSince: lostAt, run: s.run?.run ?? null };
  events.push({
    kind: 'equipment-state',
    chamber: rules.chamber,
    at: lostAt,
    state: 'unobserved',
    reason: 'no data',
    source: 'gap',
    run: s.run?.run ?? null,
  });
}

/** A word reached us: opens, bridges or ends holes. True when the chamber is watched again without more ado. */
export function hear(change: Change, reading: Reading): boolean {
  const { s, rules } = change;
  const { word, heardAt, silent, frozen, blind } = s.presence;
  if (word === 'never') return firstWord(change, reading);
  if (!silent || frozen || blind) return word === 'heard';
  const at = heardFrom(reading, heardAt);
  if (at === null) return false;
  if (at - heardAt > rules.bridgeMs) {
    if (word !== 'lost') lose(change, heardAt);
    s.presence = { ...s.presence, heardAt: at, word: 'settling', firstHeardAt: at, settledAt: at + rules.bridgeMs + SETTLE_MS };
  } else {
    if (word === 'lost') bridge(change, at);
    s.presence = { ...s.presence, heardAt: at };
  }
  if (s.presence.word === 'settling') s.due = s.presence.settledAt;
  return s.presence.word === 'heard';
}

/**
 * A value counts from its receipt; one measured before the silence says nothing of it [HO3]. The link's own word says since when nothing is
 * missing: what it read back came late, but is complete.
 */
function heardFrom({ signal, at, receivedAt }: Reading, heardAt: number): number | null {
  if (signal === 'link.alive') return Math.max(at, heardAt);
  return at > heardAt && receivedAt > heardAt ? receivedAt : null;
}

/** [HO6] */
function firstWord({ s }: Change, { at, receivedAt }: Reading): boolean {
  if (receivedAt - at > FRESH_MS) return false;
  const settledAt = at + SETTLE_MS;
  s.presence = { ...s.presence, word: 'settling', heardAt: at, silent: false, lostAt: at, firstHeardAt: at, settledAt };
  s.due = settledAt;
  s.floor = at;
  s.equipment = { ...s.equipment, since: at, heldSince: at };
  return false;
}

/** [HO2] Short enough: what held before the hole held through it. */
function bridge({ s, rules, events }: Change, at: number): void {
  const { presence, before } = s;
  if (before === null || presence.firstHeardAt > presence.lostAt) {
    s.presence = { ...presence, word: 'settling', settledAt: at + rules.bridgeMs + SETTLE_MS };
    return;
  }
  s.presence = { ...presence, word: 'heard' };
  const { state, reason, heldSince } = before;
  // One millisecond later where the state began with the hole itself, for the same reason.
  const since = before.since === presence.lostAt ? presence.lostAt + 1 : presence.lostAt;
  s.equipment = { state, reason, since, heldSince, run: s.run?.run ?? null };
  s.before = null;
  events.push({ kind: 'equipment-state', chamber: rules.chamber, at: since, state, reason, source: 'inferred', run: s.run?.run ?? null });
}

/** [HO3] The link says it is alive: from here on silence would be told. */
export function comeAlive({ s }: Change, at: number): void {
  const { presence } = s;
  if (!presence.silent) return;
  const settledAt = presence.word === 'settling' ? Math.min(presence.settledAt, at + SETTLE_MS) : presence.settledAt;
  s.presence = { ...presence, silent: false, settledAt };
  if (presence.word === 'settling') s.due = settledAt;
}
