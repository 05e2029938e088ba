/**
 * The numbers of a window counted tick by tick from painted time: plain sums, plain divisions, no code of src/. Chi-square bounds are not
 * recomputed here; they have check cases of their own.
 */
import type { Span } from '../../src/calendar.ts';
import type { StoredEvent } from '../../src/event.ts';
import { painted, type Painted, shiftSpans } from './painted.ts';
import { type Books, TICK_MS } from './random-books.ts';

export type Figures = Map<string, number | null>;
type Run = Extract<StoredEvent, { kind: 'run-ended' }>;

const DAY = 86_400_000;
const WEEK = 7 * DAY;
const STATES = ['productive', 'standby', 'engineering', 'scheduled-downtime', 'unscheduled-downtime', 'nonscheduled', 'unobserved'];
const isLoad = (run: Run): boolean => run.outcome === 'completed' && !run.engineering;
const per = (a: number, b: number): number | null => (b > 0 ? a / b : null);

/** What one chamber brings to the sums. */
type Tally = {
  readonly chamber: string;
  readonly ms: Map<string, number>;
  readonly runs: readonly Run[];
  readonly cycles: { recipe: string; ms: number; parts: Map<string, number> }[];
  readonly waits: { recipe: string; ms: number }[];
};
const add = (map: Map<string, number>, key: string, n: number): void => void map.set(key, (map.get(key) ?? 0) + n);

/** Figures of every chamber, then of the fleet, by name. */
export function tickByTick({ chambers, events, heardUntil, calendar, window }: Books): Figures {
  const wide = { from: window.from - DAY, to: window.to + DAY };
  const tallies = chambers.map((chamber) => {
    const canvas = painted(chamber, wide, { events, heardUntil: heardUntil[chamber] as number, calendar });
    const all = events.filter((event): event is Run => event.kind === 'run-ended' && event.chamber === chamber).sort((a, b) => a.at - b.at);
    return tally({ chamber, canvas, all, window });
  });
  const nominal = nominalTimes(tallies.flatMap(({ runs }) => runs));
  const shifts = calendar.shifts.length === 0 ? [] : shiftSpans(calendar, window);
  const figures: Figures = new Map();
  for (const one of [...tallies.map((own) => [own]), tallies]) {
    const name = one.length === 1 && one !== tallies ? (one[0] as Tally).chamber : 'fleet';
    for (const [key, value] of figuresOf(one, { window, nominal, shifts })) figures.set(`${name}/${key}`, value);
  }
  lossFigures(tallies, figures);
  return figures;
}

function tally({ chamber, canvas, all, window }: { chamber: string; canvas: Painted; all: readonly Run[]; window: Span }): Tally {
  const ms = new Map<string, number>();
  const [first, last] = [canvas.place(window.from), canvas.place(window.to)];
  let before = '';
  for (let i = first; i < last; i++) {
    const one = canvas.cells[i] as Painted['cells'][number];
    add(ms, `state/${one.state}`, TICK_MS);
    const down = one.state.endsWith('downtime');
    if (down && ['user-delay', 'facilities', 'out-of-spec-input'].includes(one.downtime ?? '')) add(ms, 'not supplier', TICK_MS);
    if (down && one.downtime === 'supplier-delay') add(ms, 'supplier delay', TICK_MS);
    if (one.state === 'unscheduled-downtime' && !one.person) add(ms, 'unexplained', TICK_MS);
    if (one.state === 'unscheduled-downtime' && one.run !== null) add(ms, 'in run', TICK_MS);
    if (one.state === 'nonscheduled') continue;
    const stop = one.reason.startsWith('tripped: ') ? 9 : one.reason.startsWith('repair: ') ? 8 : 0;
    const named = one.state === 'unscheduled-downtime' ? one.reason.slice(stop) : one.reason;
    const cause = `${one.state}/${one.state === 'unobserved' ? 'not observed' : named}`;
    add(ms, `cause/${cause}`, TICK_MS);
    add(ms, `times/${cause}`, Number(cause !== before));
    before = cause;
  }
  stops(canvas, window, ms);
  const runs = all.filter((run) => run.at >= window.from && run.at < window.to);
  const loads = runs.filter(isLoad);
  const nextOf = (run: Run): Run | undefined => all[all.indexOf(run) + 1];
  return {
    chamber,
    ms,
    runs,
    cycles: loads.flatMap((run) => cycleOf(run, nextOf(run), canvas)),
    waits: loads.flatMap((run) => waitOf(run, canvas)),
  };
}

/** Walks from stop to stop; what began inside the window counts. */
function stops(canvas: Painted, window: Span, ms: Map<string, number>): void {
  for (const kinds of [['unscheduled-downtime'], ['unscheduled-downtime', 'scheduled-downtime']]) {
    let i = 0;
    let unseen = false;
    for (; i < canvas.cells.length;) {
      const { state } = canvas.cells[i] as Painted['cells'][number];
      if (kinds.includes(state)) {
        const stop = walk(canvas, i, kinds);
        const at = canvas.from + i * TICK_MS;
        if (at >= window.from && at < window.to) {
          if (kinds.length === 2) add(ms, 'downtime events', 1);
          else countStop(canvas, { ...stop, first: i, cut: stop.cut || unseen }, ms);
        }
        i = stop.next;
        unseen = false;
      } else {
        if (state === 'unobserved') unseen = true;
        else if (state !== 'nonscheduled') unseen = false;
        i += 1;
      }
    }
  }
}

type Stop = { readonly places: readonly number[]; readonly next: number; readonly cut: boolean; readonly open: boolean };

function walk(canvas: Painted, first: number, kinds: readonly string[]): Stop {
  const places: number[] = [];
  let [cut, unseen] = [false, false];
  for (let i = first; i < canvas.cells.length; i++) {
    const { state } = canvas.cells[i] as Painted['cells'][number];
    if (kinds.includes(state)) {
      cut ||= unseen;
      unseen = false;
      places.push(i);
    } else if (state === 'unobserved') unseen = true;
    else if (state !== 'nonscheduled') return { places, next: i, cut: cut || unseen, open: false };
  }
  return { places, next: canvas.cells.length, cut, open: true };
}

function countStop(canvas: Painted, { places, first, cut, open }: Stop & { first: number }, ms: Map<string, number>): void {
  const cells = places.map((i) => canvas.cells[i] as Painted['cells'][number]);
  const said = new Set(cells.map(({ downtime }) => downtime));
  const has = (...words: string[]): boolean => words.some((word) => said.has(word));
  const external = [...said].every((word) => word === 'facilities' || word === 'out-of-spec-input');
  const worked = has('repair', 'test', 'user-delay', 'supplier-delay');
  const lasted = ((places.at(-1) as number) + 1 - first) * TICK_MS;
  const quick = lasted <= 360_000 && !cells.some(({ below }) => below.startsWith('repair:'));
  const known = (!cut && !open) || has('assist');
  const kind = external ? 'external' : quick && !worked && known ? 'assist' : 'failure';
  const production = cells[0]?.run !== null || canvas.cells[first - 1]?.state === 'productive';
  add(ms, kind, 1);
  if (production) add(ms, `${kind} in production`, 1);
  if (kind !== 'failure') return;
  if (cut) add(ms, 'cut', 1);
  if (open) add(ms, 'open', 1);
  if (cut || open) return;
  add(ms, 'repairs', 1);
  add(ms, 'repair ms', cells.filter(({ downtime }) => downtime !== 'user-delay' && downtime !== 'supplier-delay').length * TICK_MS);
}

const recipeOf = (run: Run): string => run.recipe ?? 'recipe not known';

function waitOf(run: Run, canvas: Painted): { recipe: string; ms: number }[] {
  let i = canvas.place(run.at);
  const first = canvas.cells[i];
  if (first?.state === 'productive') return [{ recipe: recipeOf(run), ms: 0 }];
  if (first?.state !== 'standby' || first.below !== 'waiting for unload') return [];
  while (canvas.cells[i]?.below === 'waiting for unload') i++;
  const next = canvas.cells[i]?.state;
  if (next === undefined || next === 'nonscheduled' || next === 'unobserved') return [];
  return [{ recipe: recipeOf(run), ms: canvas.from + i * TICK_MS - run.at }];
}

const PHASE_PART: Record<string, string> = { 'vent-delay': 'vent' };

function cycleOf(run: Run, next: Run | undefined, canvas: Painted): Tally['cycles'] {
  const [from, to] = [run.doorClosedAt, next?.doorClosedAt];
  if (from === null || to === null || to === undefined || to <= from) return [];
  const cells = canvas.cells.slice(canvas.place(from), canvas.place(to));
  if (cells.some(({ state, reason }) => state === 'nonscheduled' || (state === 'unobserved' && !reason.startsWith('before')))) return [];
  const parts = new Map<string, number>();
  for (const { phase, from: begin, to: end } of run.phases) {
    const inside = Math.min(end, to) - Math.max(begin, from);
    if (inside > 0) add(parts, PHASE_PART[phase] ?? phase, inside);
  }
  between(canvas.cells.slice(canvas.place(run.at), canvas.place(to)), parts);
  const named = [...parts.values()].reduce((sum, one) => sum + one, 0);
  if (to - from > named) add(parts, 'other', to - from - named);
  return [{ recipe: recipeOf(run), ms: to - from, parts }];
}

/** Handling before the first idling is unloading, after it loading; without idling up to a closed door it is both. */
function between(cells: readonly Painted['cells'][number][], parts: Map<string, number>): void {
  const words = cells.map(({ state, run, below }) => {
    if (state === 'standby') return below === 'waiting for unload' ? 'wait-unload' : 'idle';
    if (state === 'productive') return run === null ? 'handling' : 'other';
    return state.endsWith('downtime') ? 'down' : 'other';
  });
  const idle = words.indexOf('idle');
  const loads = idle >= 0 && words.lastIndexOf('handling') > idle;
  const both = !loads && words.at(-1) === 'handling';
  words.forEach((word, i) => {
    if (word !== 'handling') add(parts, word, TICK_MS);
    else add(parts, loads && i > idle ? 'load' : both ? 'unload-and-load' : 'unload', TICK_MS);
  });
}

/** NIST 7.2.6.2 from its text: rank p(n+1), in between in proportion, ends held. */
function quantile(values: readonly number[], p: number): number {
  const sorted = Float64Array.from(values).sort();
  const rank = p * (sorted.length + 1);
  if (rank <= 1) return sorted[0] as number;
  if (rank >= sorted.length) return sorted[sorted.length - 1] as number;
  const [low, high] = [sorted[Math.trunc(rank) - 1] as number, sorted[Math.trunc(rank)] as number];
  return low * (1 - (rank % 1)) + high * (rank % 1);
}

function nominalTimes(runs: readonly Run[]): Map<string, number> {
  const times = new Map<string, number[]>();
  for (const run of runs.filter(isLoad)) times.set(recipeOf(run), [...(times.get(recipeOf(run)) ?? []), run.at - run.startedAt]);
  return new Map([...times].map(([recipe, list]) => [recipe, quantile(list, 0.1)]));
}

type Frame = { readonly window: Span; readonly nominal: Map<string, number>; readonly shifts: ReturnType<typeof shiftSpans> };

function figuresOf(tallies: readonly Tally[], frame: Frame): Figures {
  const out: Figures = new Map();
  const sum = (key: string): number => tallies.reduce((total, { ms }) => total + (ms.get(key) ?? 0), 0);
  const time = Object.fromEntries(STATES.map((state) => [state, sum(`state/${state}`)])) as Record<string, number>;
  for (const state of STATES) out.set(`time/${state}`, time[state] as number);
  const runs = tallies.flatMap((one) => one.runs);
  shareFigures(out, time, sum);
  stopFigures(out, { time, sum, cycles: runs.length });
  loadFigures(out, runs, frame);
  effectFigures(out, { time, runs, nominal: frame.nominal, inRun: sum('in run') });
  spreadFigures(out, tallies);
  partFigures(
    out,
    tallies.flatMap(({ cycles }) => cycles),
    frame.window,
  );
  for (const key of new Set(tallies.flatMap(({ ms }) => [...ms.keys()])))
    if (key.startsWith('cause/standby/')) {
      out.set(`waiting/${key.slice(14)}`, sum(key));
      out.set(`waiting times/${key.slice(14)}`, sum(key.replace('cause/', 'times/')));
    }
  return out;
}

type Time = Record<string, number>;
const of = (time: Time, ...states: string[]): number => states.reduce((sum, state) => sum + (time[state] as number), 0);

function shareFigures(out: Figures, time: Time, sum: (key: string) => number): void {
  const up = of(time, 'productive', 'standby', 'engineering');
  const operations = up + of(time, 'scheduled-downtime', 'unscheduled-downtime');
  const seen = operations + of(time, 'nonscheduled');
  const elsewhere = { supplier: sum('not supplier'), equipment: sum('not supplier') + sum('supplier delay') };
  const share = (name: string, above: number, base: number, taken = 0): void => {
    const whole = base + of(time, 'unobserved');
    out.set(`${name} value`, whole > 0 && base > 0 && base / whole >= 0.8 ? above / base : null);
    out.set(`${name} low`, per(above, whole));
    out.set(
      `${name} high`,
      whole - taken > 0 ? Math.min(1, (above + of(time, 'unobserved')) / (whole - taken)) : per(above + of(time, 'unobserved'), whole),
    );
    out.set(`${name} coverage`, per(base, whole));
  };
  share('totalUtilization', of(time, 'productive'), seen);
  share('operationalUtilization', of(time, 'productive'), operations);
  share('totalUptime', up, seen);
  share('operationalUptime', up, operations);
  share('equipmentDependentUptime', up, operations - elsewhere.equipment, sum('unexplained'));
  share('supplierDependentUptime', up, operations - elsewhere.supplier, sum('unexplained'));
}

function stopFigures(out: Figures, { time, sum, cycles }: { time: Time; sum: (key: string) => number; cycles: number }): void {
  const up = of(time, 'productive', 'standby', 'engineering');
  for (const key of ['failure', 'assist', 'external', 'cut', 'open', 'repairs', 'repair ms', 'downtime events']) out.set(key, sum(key));
  out.set('mtbfProductive', per(of(time, 'productive'), sum('failure in production')));
  out.set('mtbfUptime', per(up, sum('failure')));
  out.set('cyclesBetweenFailures', per(cycles, sum('failure')));
  out.set('mtbAssists', per(of(time, 'productive'), sum('assist in production')));
  out.set('mttr', per(sum('repair ms'), sum('repairs')));
  out.set('meanOffline', per(of(time, 'scheduled-downtime', 'unscheduled-downtime'), sum('downtime events')));
}

function loadFigures(out: Figures, runs: readonly Run[], { shifts, window }: Frame): void {
  out.set('loads completed', runs.filter(isLoad).length);
  for (const outcome of ['aborted', 'interrupted'])
    out.set(`loads ${outcome}`, runs.filter((run) => run.outcome === outcome && !run.engineering).length);
  out.set('loads engineering', runs.filter((run) => run.engineering).length);
  const names = new Set(shifts.map(({ name }) => name));
  const on = (at: number): string | undefined => shifts.filter(({ from, to }) => from <= at && at < to).at(-1)?.name;
  const loads = runs.filter(isLoad).map(({ at }) => on(at));
  for (const name of names) {
    out.set(`shift ${name} loads`, loads.filter((own) => own === name).length);
    out.set(`shift ${name} shifts`, shifts.filter((one) => one.name === name && one.from >= window.from && one.from < window.to).length);
  }
}

type Effect = { readonly time: Time; readonly runs: readonly Run[]; readonly nominal: Map<string, number>; readonly inRun: number };

function effectFigures(out: Figures, { time, runs, nominal, inRun }: Effect): void {
  const sum = (list: readonly Run[]): number => list.reduce((total, run) => total + (nominal.get(recipeOf(run)) ?? 0), 0);
  const [made, unsure] = [sum(runs.filter(isLoad)), sum(runs.filter((run) => run.outcome === 'not-fully-observed' && !run.engineering))];
  const planned = of(time, 'productive', 'standby', 'engineering', 'unscheduled-downtime');
  const unseen = of(time, 'unobserved');
  for (const [name, base] of [
    ['oee e79', planned + of(time, 'scheduled-downtime', 'nonscheduled')],
    ['oee iso', planned],
  ] as const) {
    out.set(`${name} value`, base + unseen > 0 && base > 0 && base / (base + unseen) >= 0.8 ? made / base : null);
    out.set(`${name} low`, per(made, base + unseen));
    out.set(`${name} high`, per(made + unsure + unseen, base + unseen));
  }
  out.set('technical efficiency', per(of(time, 'productive'), of(time, 'productive') + inRun));
}

function spreadFigures(out: Figures, tallies: readonly Tally[]): void {
  const loads = tallies.flatMap(({ runs }) => runs.filter(isLoad));
  for (const recipe of new Set(loads.map(recipeOf))) {
    const process = loads.filter((run) => recipeOf(run) === recipe).map((run) => run.at - run.startedAt);
    const cycles = tallies.flatMap((one) => one.cycles.filter((cycle) => cycle.recipe === recipe).map(({ ms }) => ms));
    const waits = tallies.flatMap((one) => one.waits.filter((wait) => wait.recipe === recipe).map(({ ms }) => ms));
    out.set(`${recipe} runs`, process.length);
    for (const [name, list] of [
      ['process', process],
      ['cycle', cycles],
    ] as const)
      for (const p of [10, 50, 90]) out.set(`${recipe} ${name} p${p}`, list.length > 0 ? quantile(list, p / 100) : null);
    for (const p of [50, 95]) out.set(`${recipe} wait p${p}`, waits.length > 0 ? quantile(waits, p / 100) : null);
    out.set(`${recipe} wait sum`, waits.length > 0 ? waits.reduce((sum, ms) => sum + ms, 0) : null);
  }
}

function partFigures(out: Figures, cycles: Tally['cycles'], window: Span): void {
  if (cycles.length === 0) return;
  out.set('cycles', cycles.length);
  out.set(
    'cycle ms',
    cycles.reduce((sum, { ms }) => sum + ms, 0),
  );
  const busy = cycles.filter(({ parts }) => (parts.get('idle') ?? 0) < 60_000);
  out.set('busy cycles', busy.length);
  const scale = WEEK / (window.to - window.from);
  for (const part of new Set(cycles.flatMap(({ parts }) => [...parts.keys()]))) {
    const ms = cycles.reduce((sum, { parts }) => sum + (parts.get(part) ?? 0), 0);
    if (ms === 0) continue;
    out.set(`part ${part}`, ms);
    for (const [name, list] of [
      ['', cycles],
      [' busy', busy],
    ] as const) {
      const saved = list.reduce((sum, { parts }) => sum + Math.min(60_000, parts.get(part) ?? 0), 0);
      const every = cycles.reduce(
        // What a cycle takes without its idling is not shortened again by idling that was saved.
        (sum, one) => sum + one.ms - (one.parts.get('idle') ?? 0) - (part === 'idle' ? 0 : Math.min(60_000, one.parts.get(part) ?? 0)),
        0,
      );
      out.set(`minute ${part}${name}`, every > 0 ? (saved / (every / cycles.length)) * scale : null);
    }
  }
}

function lossFigures(tallies: readonly Tally[], out: Figures): void {
  const causes = new Set(tallies.flatMap(({ ms }) => [...ms.keys()].filter((key) => key.startsWith('cause/'))));
  const made = ({ runs }: Tally): number => runs.filter(isLoad).length;
  const ran = ({ ms }: Tally): number => ms.get('state/productive') ?? 0;
  const all = { made: tallies.reduce((sum, one) => sum + made(one), 0), ran: tallies.reduce((sum, one) => sum + ran(one), 0) };
  const fleet = all.made > 0 && all.ran > 0 ? all.made / all.ran : null;
  for (const key of causes) {
    const cause = key.slice('cause/'.length);
    if (/^(productive|engineering)\//.test(cause)) continue;
    const lost = tallies.map((one) => ({ one, ms: one.ms.get(key) ?? 0 })).filter(({ ms }) => ms > 0);
    out.set(
      `loss ${cause}`,
      lost.reduce((sum, { ms }) => sum + ms, 0),
    );
    out.set(
      `loss times ${cause}`,
      lost.reduce((sum, { one }) => sum + (one.ms.get(`times/${cause}`) ?? 0), 0),
    );
    const rate = (one: Tally): number | null => (made(one) > 0 && ran(one) > 0 ? made(one) / ran(one) : fleet);
    const loads = lost.map(({ one, ms }) => (rate(one) === null ? null : ms * (rate(one) as number)));
    out.set(`loss loads ${cause}`, loads.includes(null) ? null : loads.reduce((sum: number, n) => sum + (n as number), 0));
  }
}
