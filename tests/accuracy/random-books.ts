/**
 * Random but repeatable books of a small fleet: states with holes, trips in and out of runs, maintenance, runs over every edge, reason entries that
 * overlap, stay open or were taken back, calendars over midnight and the change of clocks. Shapes only, no physics. All times are whole ticks, so
 * that a recomputation may walk from tick to tick.
 */
import type { Calendar, ShiftRule, Span } from '../../src/calendar.ts';
import type { StoredEvent } from '../../src/event.ts';
import { random } from '../src/random-history.ts';

export const TICK_MS = 10_000;
const MIN = 60_000 / TICK_MS;
const DAY = 1440 * MIN;

export type Books = {
  readonly chambers: readonly string[];
  readonly events: readonly StoredEvent[];
  readonly heardUntil: Readonly<Record<string, number>>;
  readonly calendar: Calendar;
  readonly window: Span;
};

type Chance = () => number;
type Draft = { readonly kind: string; readonly at: number } & Record<string, unknown>;

const ALL_DAYS = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'] as const;
const EARLY: ShiftRule = { name: 'Early', days: ['mon', 'tue', 'wed', 'thu', 'fri'], from: '06:00', to: '14:00' };
const NIGHT: ShiftRule = { name: 'Night', days: [...ALL_DAYS], from: '22:00', to: '06:00' };
const SHIFTS: readonly (readonly ShiftRule[])[] = [
  [],
  [EARLY],
  [EARLY, NIGHT],
  [NIGHT],
  [{ ...EARLY, name: 'Late', from: '14:00', to: '23:30' }, EARLY],
];
const ZONES = ['Europe/Berlin', 'America/New_York', 'Australia/Lord_Howe', 'UTC', 'Asia/Kolkata'] as const;
/** Local noons near changes of clocks, and a plain day. */
const DATES = [
  Date.UTC(2026, 2, 28, 12),
  Date.UTC(2026, 9, 24, 12),
  Date.UTC(2026, 10, 1, 3),
  Date.UTC(2026, 3, 4, 14),
  Date.UTC(2026, 6, 8),
];

export function randomBooks(seed: number): Books {
  const chance = random(seed * 7919 + 13);
  const pick = <T>(list: readonly T[]): T => list[Math.floor(chance() * list.length)] as T;
  const base = Math.floor(pick(DATES) / TICK_MS);
  const from = base + ticks(chance, DAY);
  const window = { from: from * TICK_MS, to: (from + 1 + ticks(chance, 1.5 * DAY)) * TICK_MS };
  const chambers = ['PC-01', 'PC-02', 'PC-03'].slice(0, 1 + Math.floor(chance() * 3));
  const end = window.to / TICK_MS + DAY;
  const drafts = chambers.flatMap((chamber) => [
    ...new Chamber(chamber, chance, from - DAY - ticks(chance, DAY / 4)).until(end - ticks(chance, DAY / 2)),
    ...told({ chamber, chance, from: from - DAY, to: end }),
  ]);
  const holidays = chance() < 0.2 ? [{ date: new Date(window.from + 40_000_000).toISOString().slice(0, 10), name: 'holiday' }] : [];
  const heard = (): number => (chance() < 0.3 ? window.from / TICK_MS + ticks(chance, 2 * DAY) : end) * TICK_MS;
  return {
    chambers,
    events: shuffled(
      chance,
      drafts.map((draft, i) => ({ ...draft, at: draft.at * TICK_MS, seq: i + 1 }) as unknown as StoredEvent),
    ),
    heardUntil: Object.fromEntries(chambers.map((chamber) => [chamber, heard()])),
    calendar: { zone: pick(ZONES), shifts: pick(SHIFTS), holidays },
    window,
  };
}

const ticks = (chance: Chance, most: number): number => Math.floor(chance() * most);

function shuffled<T>(chance: Chance, list: T[]): T[] {
  for (let i = list.length - 1; i > 0; i--) {
    const j = Math.floor(chance() * (i + 1));
    [list[i], list[j]] = [list[j] as T, list[i] as T];
  }
  return list;
}

const RECIPES = [
  ['ACT-AR-07', 7],
  ['CLN-OA-10', 10],
  ['DSM-PI-25', 25],
  [null, 12],
] as const;

/** One chamber's day after day, as drafts in ticks. */
class Chamber {
  readonly #chamber: string;
  readonly #chance: Chance;
  readonly #out: Draft[] = [];
  #at: number;

  constructor(chamber: string, chance: Chance, at: number) {
    this.#chamber = chamber;
    this.#chance = chance;
    this.#at = at;
  }

  until(end: number): readonly Draft[] {
    while (this.#at < end) {
      this.#pause();
      this.#run();
    }
    return this.#out;
  }

  #state(state: string, reason: string, run: string | null = null): void {
    this.#out.push({ kind: 'equipment-state', chamber: this.#chamber, at: this.#at, state, reason, source: 'signal', run });
  }

  #spend(minutes: number): void {
    this.#at += 1 + ticks(this.#chance, minutes * MIN);
  }

  #pause(): void {
    const dice = this.#chance();
    if (dice < 0.06) this.#hole();
    else if (dice < 0.18) this.#trip();
    else if (dice < 0.22) {
      this.#state('scheduled-downtime', 'maintenance');
      this.#spend(200);
    } else if (dice < 0.45) {
      this.#state('standby', 'idle');
      this.#spend(dice < 0.4 ? 100 : 0.5);
    }
  }

  #hole(): void {
    this.#state('unobserved', 'no data');
    this.#spend(150);
  }

  #trip(run: string | null = null): void {
    this.#state('unscheduled-downtime', 'tripped: RF fault', run);
    this.#spend(this.#chance() < 0.4 ? 7 : 240);
    if (this.#chance() < 0.2) this.#hole();
    if (this.#chance() < 0.4) {
      this.#state('unscheduled-downtime', 'repair: RF fault', run);
      this.#spend(this.#chance() < 0.2 ? 3 : 120);
    }
  }

  #run(): void {
    const engineering = this.#chance() < 0.07;
    if (this.#chance() < 0.9) {
      this.#state('productive', 'load or unload');
      this.#spend(9);
    }
    const doorClosedAt = this.#chance() < 0.07 ? null : (this.#at - ticks(this.#chance, MIN)) * TICK_MS;
    const run = `${this.#chamber}/${new Date(this.#at * TICK_MS).toISOString()}`;
    const startedAt = this.#at;
    const dice = this.#chance();
    const outcome = dice < 0.06 ? 'aborted' : dice < 0.1 ? 'not-fully-observed' : dice < 0.13 ? 'interrupted' : 'completed';
    this.#state(engineering ? 'engineering' : 'productive', 'run', run);
    const [recipe, minutes] = RECIPES[Math.floor(this.#chance() * RECIPES.length)] as (typeof RECIPES)[number];
    const phases = this.#phases(minutes);
    if (outcome === 'interrupted') this.#trip(run);
    this.#out.push({
      kind: 'run-ended',
      chamber: this.#chamber,
      at: this.#at,
      run,
      startedAt: startedAt * TICK_MS,
      outcome,
      recipe,
      load: null,
      engineering,
      doorClosedAt,
      phases,
      observedMs: 0,
    });
    this.#afterRun();
  }

  #phases(minutes: number): readonly Record<string, unknown>[] {
    const lengths = [
      ['pump-down', 2.3],
      ['gas-stabilisation', 0.5],
      ['plasma', minutes],
      ['hold', this.#chance() < 0.1 ? 4 : 0],
      ['purge', 1],
      ['vent-delay', 0.4],
      ['vent', 1.6],
    ] as const;
    return lengths.map(([phase, length], i) => {
      const from = this.#at;
      this.#at += Math.floor(length * (0.8 + 0.4 * this.#chance()) * MIN);
      const step = phase === 'plasma' ? 1 : null;
      return { phase, step, from: from * TICK_MS, to: this.#at * TICK_MS, source: i > 0 && this.#chance() < 0.02 ? 'gap' : 'signal' };
    });
  }

  #afterRun(): void {
    const dice = this.#chance();
    if (dice < 0.03) return this.#hole();
    if (dice < 0.85) {
      this.#state('standby', 'waiting for unload');
      this.#spend(dice < 0.1 ? 300 : 15);
    }
    this.#state('productive', 'load or unload');
    this.#spend(6);
    if (this.#chance() < 0.1) {
      this.#state('standby', 'door open');
      this.#spend(60);
    }
  }
}

const WORDS = [
  ['unscheduled-downtime', 'repair', 'repair'],
  ['unscheduled-downtime', 'waiting for maintenance', 'user-delay'],
  ['unscheduled-downtime', 'waiting for parts', 'supplier-delay'],
  ['unscheduled-downtime', 'cleared by operator', 'assist'],
  ['unscheduled-downtime', 'out of spec', 'out-of-spec-input'],
  ['unscheduled-downtime', 'facilities: cooling water', 'facilities'],
  ['scheduled-downtime', 'waiting for technician', 'user-delay'],
  ['scheduled-downtime', 'cleaning', null],
  ['standby', 'no operator', null],
  ['standby', 'no product', null],
  ['engineering', 'trial', null],
  ['productive', 'rework', null],
] as const;

/** What persons said, some of it taken back. */
function told({ chamber, chance, from, to }: { chamber: string; chance: Chance; from: number; to: number }): readonly Draft[] {
  const out: Draft[] = [];
  const count = Math.floor(chance() * 9);
  for (let i = 0; i < count; i++) {
    const at = from + ticks(chance, to - from);
    const [state, reason, downtime] = WORDS[Math.floor(chance() * WORDS.length)] as (typeof WORDS)[number];
    const end = chance() < 0.3 ? null : (at + 1 + ticks(chance, chance() < 0.3 ? 5 * MIN : 300 * MIN)) * TICK_MS;
    const enteredAt = (at + ticks(chance, 200 * MIN)) * TICK_MS;
    const entry = `${chamber}-${i}`;
    out.push({ kind: 'reason', chamber, at, entry, to: end, state, reason, downtime, note: '', by: 'shift', enteredAt, workedOn: [] });
    if (chance() < 0.2) out.push({ kind: 'reason-withdrawn', chamber, at: at + MIN, entry, by: 'shift' });
  }
  return out;
}
