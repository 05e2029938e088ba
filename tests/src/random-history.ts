/** Random but repeatable histories of chambers for the tests of everything computed. Shapes only, no physics. */
import type { StoredEvent } from '../../src/event.ts';
import type { StateTimes } from '../../src/numbers.ts';

/** mulberry32: a public-domain 32-bit generator, enough for tests. */
export function random(start: number): () => number {
  let a = start >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = a;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

export const noHours = (): StateTimes => ({
  productive: 0,
  standby: 0,
  engineering: 0,
  'scheduled-downtime': 0,
  'unscheduled-downtime': 0,
  nonscheduled: 0,
  unobserved: 0,
});

export const CHAMBERS = Array.from({ length: 12 }, (_, i) => `PC-${String(i + 1).padStart(2, '0')}`);

const RECIPES = [
  ['ACT-AR-07', 7],
  ['CLN-OA-10', 10],
  ['DSM-PI-25', 25],
  ['ETB-RF-43', 43],
] as const;
const CODES = [
  ['RF_REFL_HIGH', 'Reflected power high', 'medium'],
  ['DOOR_NOT_CLOSED', 'Door not closed', 'medium'],
  ['RF_FAULT', 'RF generator fault', 'high'],
  ['PM_DUE', 'Maintenance due', 'low'],
] as const;
const MIN = 60_000;

export type History = {
  readonly from: number;
  readonly to: number;
  readonly seed: number;
  readonly chambers?: readonly string[];
  readonly alarmsPerHour?: number;
};

/** Events of all chambers over [from, to), in the order of their time, with seq from 1. */
export function randomHistory({ from, to, seed, chambers = CHAMBERS, alarmsPerHour = 0.3 }: History): StoredEvent[] {
  const drafts = chambers.flatMap((chamber, i) => chamberHistory({ chamber, from, to, alarmsPerHour, chance: random(seed * 1000 + i) }));
  drafts.sort((a, b) => a.at - b.at);
  return drafts.map((event, i) => ({ ...event, seq: i + 1 }) as StoredEvent);
}

/** What may come before a run: chance below, state, reason, longest minutes. */
const PAUSES = [
  [0.03, 'unobserved', 'no data', 200],
  [0.06, 'unscheduled-downtime', 'tripped: RF_FAULT', 120],
  [0.08, 'scheduled-downtime', 'maintenance', 240],
  [0.3, 'standby', 'idle', 90],
] as const;

type Chance = () => number;
type Draft = Omit<StoredEvent, 'seq'> & { at: number };
type Told = {
  readonly chamber: string;
  readonly from: number;
  readonly to: number;
  readonly alarmsPerHour: number;
  readonly chance: Chance;
};

function chamberHistory({ chamber, from, to, alarmsPerHour, chance }: Told): Draft[] {
  const out: Draft[] = [];
  let at = from + Math.floor(chance() * 30 * MIN);
  const state = (name: string, reason: string, run: string | null = null): void =>
    void out.push({ kind: 'equipment-state', chamber, at, state: name, reason, source: 'signal', run } as Draft);
  while (at < to) {
    const dice = chance();
    const pause = PAUSES.find(([below]) => dice < below);
    if (pause) {
      state(pause[1], pause[2]);
      at += Math.floor(chance() * pause[3] * MIN) + 1;
    }
    at = oneRun({ chamber, at, chance, state, push: (event) => void out.push(event), move: (to_) => (at = to_) });
  }
  return [...out, ...alarms({ chamber, from, to, alarmsPerHour, chance })].filter((event) => event.at < to);
}

type RunMaker = {
  chamber: string;
  at: number;
  chance: Chance;
  state: (name: string, reason: string, run?: string | null) => void;
  push: (event: Draft) => void;
  move: (at: number) => void;
};

function oneRun({ chamber, at: start, chance, state, push, move }: RunMaker): number {
  let at = start;
  state('productive', 'load or unload');
  at += Math.floor((3 + 8 * chance()) * MIN) + 137;
  move(at);
  const [recipe, minutes] = RECIPES[Math.floor(chance() * RECIPES.length)] as (typeof RECIPES)[number];
  const run = `${chamber}/${new Date(at).toISOString()}`;
  const engineering = chance() < 0.03;
  const doorClosedAt = chance() < 0.05 ? null : at - Math.floor(chance() * 60_000);
  state(engineering ? 'engineering' : 'productive', 'run', run);
  const phases: Record<string, unknown>[] = [];
  const startedAt = at;
  const lengths = [
    ['pump-down', 2.3],
    ['gas-stabilisation', 0.5],
    ['plasma', minutes * 0.4],
    ['plasma', minutes * 0.6],
    ['purge', 1],
    ['vent', 1.6],
  ] as const;
  lengths.forEach(([phase, length], i) => {
    const end = at + Math.floor(length * (0.95 + 0.1 * chance()) * MIN);
    phases.push({ phase, step: phase === 'plasma' ? i - 1 : null, from: at, to: end, source: chance() < 0.01 ? 'gap' : 'signal' });
    at = end;
  });
  const outcome = chance() < 0.04 ? 'aborted' : chance() < 0.02 ? 'not-fully-observed' : 'completed';
  push({
    kind: 'run-ended',
    chamber,
    at,
    run,
    startedAt,
    outcome,
    recipe,
    load: `QM-${at}`,
    engineering,
    doorClosedAt,
    phases,
    observedMs: at - startedAt,
  } as unknown as Draft);
  move(at);
  state('standby', 'waiting for unload');
  at += Math.floor(chance() * 12 * MIN) + 1;
  move(at);
  return at;
}

function alarms({ chamber, from, to, alarmsPerHour, chance }: Told): Draft[] {
  const out: Draft[] = [];
  for (let at = from; ;) {
    at += Math.floor((-Math.log(1 - chance()) / alarmsPerHour) * 60 * MIN) + 1;
    if (at >= to) return out;
    const [code, text, priority] = CODES[Math.floor(chance() * CODES.length)] as (typeof CODES)[number];
    const base = {
      kind: 'alarm',
      chamber,
      code,
      text,
      priority,
      notice: code === 'PM_DUE',
      counted: chance() > 0.02,
      suppressed: chance() < 0.02,
    };
    out.push(
      { ...base, at, change: 'activated' } as unknown as Draft,
      { ...base, at: at + Math.floor(chance() * 5 * MIN) + 1, change: 'cleared' } as unknown as Draft,
    );
  }
}
