/** A year of rows of an invented fleet, as columns: what both sides of the week benchmark compute from. Seeded; shapes only, no physics. */
import { random } from '../src/random-history.ts';

export const STATE_NAMES = [
  'productive',
  'standby',
  'engineering',
  'scheduled-downtime',
  'unscheduled-downtime',
  'nonscheduled',
  'unobserved',
] as const;
export const RECIPES = ['ACT-AR-07', 'CLN-OA-10', 'DSM-PI-25', 'ETB-RF-43'] as const;
const MINUTES = [7, 10, 25, 43] as const;
const MIN = 60_000;

export type Columns = {
  /** Rows of chamber c are first[c] to first[c + 1]; by time within. */
  readonly first: Int32Array;
  readonly count: number;
};
export type StateRows = Columns & { readonly at: Float64Array; readonly state: Uint8Array; readonly inRun: Uint8Array };
export type RunRows = Columns & {
  readonly at: Float64Array;
  readonly startedAt: Float64Array;
  readonly door: Float64Array;
  readonly recipe: Uint8Array;
  readonly isLoad: Uint8Array;
};
export type Rows = {
  readonly chambers: number;
  readonly from: number;
  readonly to: number;
  readonly states: StateRows;
  readonly runs: RunRows;
};

/** Grows as it is filled. */
class Growing {
  #values = new Float64Array(1 << 16);
  length = 0;

  push(value: number): void {
    if (this.length === this.#values.length) {
      const wider = new Float64Array(2 * this.length);
      wider.set(this.#values);
      this.#values = wider;
    }
    this.#values[this.length++] = value;
  }

  get values(): Float64Array {
    return this.#values.subarray(0, this.length);
  }
}

export function rowsOf(chambers: number, from: number, to: number): Rows {
  const state = { at: new Growing(), state: new Growing(), inRun: new Growing() };
  const run = { at: new Growing(), startedAt: new Growing(), door: new Growing(), recipe: new Growing(), isLoad: new Growing() };
  const [firstState, firstRun] = [new Int32Array(chambers + 1), new Int32Array(chambers + 1)];
  for (let chamber = 0; chamber < chambers; chamber++) {
    fill({ chance: random(chamber + 1), from, to }, state, run);
    [firstState[chamber + 1], firstRun[chamber + 1]] = [state.at.length, run.at.length];
  }
  const bytes = (column: Growing): Uint8Array => Uint8Array.from(column.values);
  return {
    chambers,
    from,
    to,
    states: { first: firstState, count: state.at.length, at: state.at.values, state: bytes(state.state), inRun: bytes(state.inRun) },
    runs: {
      first: firstRun,
      count: run.at.length,
      at: run.at.values,
      startedAt: run.startedAt.values,
      door: run.door.values,
      recipe: bytes(run.recipe),
      isLoad: bytes(run.isLoad),
    },
  };
}

type Span = { readonly chance: () => number; readonly from: number; readonly to: number };
type Named<K extends string> = Readonly<Record<K, Growing>>;

/** Load, run, wait, sometimes a pause of some kind; a hole now and then. */
function fill(
  { chance, from, to }: Span,
  state: Named<'at' | 'state' | 'inRun'>,
  run: Named<'at' | 'startedAt' | 'door' | 'recipe' | 'isLoad'>,
): void {
  let at = from + Math.floor(chance() * 60 * MIN);
  const say = (name: (typeof STATE_NAMES)[number], minutes: number, inRun = 0): void => {
    state.at.push(at);
    state.state.push(STATE_NAMES.indexOf(name));
    state.inRun.push(inRun);
    at += 1 + Math.floor(minutes * MIN);
  };
  while (at < to) {
    const dice = chance();
    if (dice < 0.01) say('unobserved', 60 * chance());
    else if (dice < 0.03) say('unscheduled-downtime', 240 * chance());
    else if (dice < 0.04) say('scheduled-downtime', 200 * chance());
    else if (dice < 0.4) say('standby', 90 * chance());
    say('productive', 3 + 8 * chance());
    const recipe = Math.floor(chance() * RECIPES.length);
    const [startedAt, isEngineering] = [at, chance() < 0.03];
    say(isEngineering ? 'engineering' : 'productive', (MINUTES[recipe] as number) + 5 + chance(), 1);
    run.at.push(at);
    run.startedAt.push(startedAt);
    run.door.push(startedAt - 1000);
    run.recipe.push(recipe);
    run.isLoad.push(Number(!isEngineering && chance() > 0.03));
    say('standby', 12 * chance());
  }
}
