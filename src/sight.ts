/**
 * A healthy link that carries no knowledge: a controller that hangs (hole.ts [HO1]), one that is gone behind its server, values lost on the way.
 * [SG1] When no signal that tells what the chamber does is good any more, nobody knows, from the moment the last of them went bad or
 *       uncertain; it ends when one is good again and the values have settled.
 * [SG2] Values lost in the server's queue while it spoke are a hole from the last value before to the first after, if longer than the bridge;
 *       a state that began meanwhile was decided and stays, the hole begins with it.
 */
import type { ChamberRules } from './chamber-rules.ts';
import type { Change } from './change.ts';
import type { ChamberState, Presence } from './chamber-state.ts';
import { NEVER } from './flag.ts';
import { lose, SETTLE_MS } from './hole.ts';
import { tellsNoPhase, TELLING } from './inputs.ts';
import type { Slot } from './inputs.ts';

const FROZEN_BEATS = 3;

/** [HO1] When a heartbeat would be taken as frozen. */
export const frozenDue = ({ beatMs, beatAt, firstHeardAt }: Presence, { frozenMs }: ChamberRules): number =>
  beatMs === 0 ? NEVER : Math.max(beatAt, firstHeardAt) + Math.max(frozenMs, FROZEN_BEATS * beatMs);

export function freeze(change: Change): void {
  const { s } = change;
  lose(change, Math.max(s.presence.beatAt, s.floor));
  s.presence = { ...s.presence, frozen: true };
}

/** [HO1] A heartbeat was read; one that changes again after a freeze ends the hole. */
export function beat(change: Change, value: number, at: number): void {
  const { s } = change;
  const thawed = s.presence.frozen && s.presence.beat !== value;
  s.presence = beaten(s.presence, value, at);
  if (!thawed) return;
  s.presence = { ...s.presence, frozen: false };
  wake(change, at);
}

/** The usual interval follows slowly downwards and at once upwards; holes do not count. Same object when the counter stood still. */
export function beaten(presence: Presence, value: number, at: number): Presence {
  if (presence.beat === value || at < presence.beatAt) return presence;
  const intervalMs = presence.beat === null || presence.word !== 'heard' ? 0 : at - presence.beatAt;
  return { ...presence, beat: value, beatAt: at, beatMs: Math.max(intervalMs, Math.round(presence.beatMs * 0.9)) };
}

/** Known again from `at` on, if by the time the values have settled it is not hidden again. */
function wake({ s }: Change, at: number): void {
  s.presence = { ...s.presence, word: 'settling', heardAt: at, firstHeardAt: at, settledAt: at + SETTLE_MS };
  s.due = at + SETTLE_MS;
}

/** [SG1] The item state counts only for a chamber that tells nothing else (inputs.ts [IN6]). */
export function isBlind({ inputs, bad }: Pick<ChamberState, 'inputs' | 'bad'>): boolean {
  const told = TELLING.filter((key) => inputs[key] !== null);
  const deciding = tellsNoPhase(inputs) ? told : told.filter((key) => key !== 'itemState');
  return deciding.every((key) => bad.includes(key));
}

/** [SG1] A signal went bad. */
export function spoil(change: Change, { key, telling }: Slot, at: number): void {
  const { s } = change;
  if (!telling) return;
  if (!s.bad.includes(key)) s.bad = [...s.bad, key];
  const { word } = s.presence;
  if ((word !== 'heard' && word !== 'settling') || !isBlind(s)) return;
  lose(change, at);
  s.presence = { ...s.presence, blind: true };
}

/** [SG1] A signal is good. */
export function recover(change: Change, { key, telling }: Slot, at: number): void {
  const { s } = change;
  if (!telling) return;
  if (s.bad.includes(key)) s.bad = s.bad.filter((each) => each !== key);
  if (!s.presence.blind) return;
  s.presence = { ...s.presence, blind: false };
  wake(change, at);
}

/** [SG2] */
export function lostInQueue(change: Change, from: number, at: number): void {
  const { s, rules } = change;
  const { word, lostAt, firstHeardAt, settledAt } = s.presence;
  if (at - from <= rules.bridgeMs) return;
  if (word === 'settling') {
    s.presence = { ...s.presence, firstHeardAt: Math.max(firstHeardAt, at), settledAt: Math.max(settledAt, at + SETTLE_MS) };
  } else if (word === 'heard' && at > Math.max(from, s.equipment.since, lostAt + 1)) {
    lose(change, from);
    wake(change, at);
  }
}
