/** Brings a fleet up to date with what the gateway says changed. Null: the word belongs to another life of the gateway, ask for the whole. */
import type { Changes, Fleet } from '../src/contract.ts';

export function mergeChanges(fleet: Fleet, changes: Changes): Fleet | null {
  if (changes.boot !== fleet.boot) return null;
  if (changes.rev < fleet.rev) return fleet;
  const changed = new Map(changes.chambers.map((tile) => [tile.chamber, tile]));
  const known = new Set(fleet.chambers.map((tile) => tile.chamber));
  if ([...changed.keys()].some((chamber) => !known.has(chamber))) return null;
  const chambers = changed.size === 0 ? fleet.chambers : fleet.chambers.map((tile) => changed.get(tile.chamber) ?? tile);
  return { ...fleet, rev: changes.rev, seq: changes.seq, now: changes.now, chambers, strip: changes.strip ?? fleet.strip };
}
