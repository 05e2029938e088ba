/**
 * The counts over the wall: each chamber stands in exactly one of them, so they add up to the hall. What is rare is left out while it is nought;
 * a chamber without a planned shift is not idle and is never counted so.
 */
import type { FleetStrip } from '../src/contract.ts';
import type { Mark } from './tile-face.ts';

type StripCount = { readonly mark: Mark; readonly word: string; readonly n: number; readonly tone: '' | 'turn' | 'act' | 'lost' };

type StripCounts = { readonly usual: readonly StripCount[]; readonly rare: readonly StripCount[] };

/** Words and marks are those of the tiles; loading and unloading are one count, by what they share. `called`: somebody has yet to come to a chamber that is down. */
export function stripCounts(counts: FleetStrip['counts'], called: boolean): StripCounts {
  const usual: StripCount[] = [
    { mark: 'run', word: 'running', n: counts.running, tone: '' },
    { mark: 'unload', word: 'waiting', n: counts.waiting, tone: 'turn' },
    { mark: 'down', word: 'down', n: counts.down, tone: called ? 'act' : '' },
    { mark: 'lost', word: 'no data', n: counts.unobserved, tone: 'lost' },
    { mark: 'idle', word: 'idle', n: counts.idle, tone: '' },
  ];
  const rare: StripCount[] = [
    { mark: 'door', word: 'door open', n: counts.handling, tone: '' },
    { mark: 'hold', word: 'on hold', n: counts.hold, tone: '' },
    { mark: 'service', word: 'maintenance', n: counts.maintenance, tone: '' },
    { mark: 'run', word: 'told productive', n: counts.told, tone: '' },
    { mark: 'trial', word: 'engineering', n: counts.engineering, tone: '' },
    { mark: 'off', word: 'no shift', n: counts.nonscheduled, tone: '' },
  ];
  return { usual, rare: rare.filter(({ n }) => n > 0) };
}
