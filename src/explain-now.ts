/**
 * What a chamber's page counts at this moment, explained: when the run will be over, how long the chamber has been in its state.
 * [XW1] The finish sums what is expected of the stretches still to come; its range is theirs. Times that run on count from the moment they name.
 */
import type { ChamberTile } from './contract.ts';
import { type Draft, type Evidence, PLAIN } from './explanation.ts';

export const NOW_NUMBERS = ['finish', 'elapsed', 'waiting-time', 'state-time', 'data-age'] as const;
export type NowNumber = (typeof NOW_NUMBERS)[number];

/** [XW1] Null where the chamber has no such number now. */
export function explainNow(number: NowNumber, tile: ChamberTile, now: number): Draft | null {
  const { run, waitingSince, heardAt } = tile;
  switch (number) {
    case 'finish':
      return run?.finish ? explainFinish(tile, { ...run, finish: run.finish }, now) : null;
    case 'elapsed':
      return run ? explainElapsed(tile, run, now) : null;
    case 'waiting-time':
      return waitingSince === null ? null : since(tile, { words: 'waiting for unload', at: waitingSince, why: 'back at atmosphere' }, now);
    case 'state-time':
      return since(tile, { words: `time in ${tile.state}`, at: tile.stateSince, why: tile.reason }, now);
    case 'data-age':
      return heardAt === null ? null : since(tile, { words: 'age of the data', at: heardAt, why: 'last word from the chamber' }, now);
  }
}

type Since = { readonly words: string; readonly at: number; readonly why: string };

function since({ chamber, run, state }: ChamberTile, { words, at, why }: Since, now: number): Draft {
  const amount = Math.max(0, now - at);
  return {
    ...PLAIN,
    words,
    unit: 'ms',
    value: amount,
    formula: 'now, less the moment at which it began',
    source: 'equipment states in the manner of SEMI E10 (from memory); plant time',
    numerator: { words, unit: 'ms', amount, parts: [{ label: why, state: null, amount, count: 1 }] },
    madeOf: [{ chamber, from: at, to: now, state, text: why, counts: 'counts', run: run?.run ?? null, amount }],
  };
}

type Running = NonNullable<ChamberTile['run']>;

/** By its stretches; the last of them goes on until now. */
function explainElapsed(tile: ChamberTile, { run, startedAt, stretches }: Running, now: number): Draft {
  const draft = since(tile, { words: 'time since the pump-down began', at: startedAt, why: 'run' }, now);
  const done = stretches.filter(({ expected }) => !expected);
  const madeOf = done.map(({ phase, step, from, to }, i): Evidence => {
    const end = i === done.length - 1 ? Math.max(to, now) : to;
    const text = step === null ? phase : `${phase} step ${step}`;
    return { chamber: tile.chamber, from, to: end, state: null, text, counts: 'counts', run, amount: end - from };
  });
  const parts = madeOf.map(({ text, amount }) => ({ label: text, state: null, amount: amount ?? 0, count: 1 }));
  const isWhole = parts.reduce((sum, { amount }) => sum + amount, 0) === draft.value;
  return isWhole && draft.numerator ? { ...draft, numerator: { ...draft.numerator, parts }, madeOf } : draft;
}

/** [XW1] */
function explainFinish(
  { chamber }: ChamberTile,
  { run, stretches, finish }: Running & { readonly finish: NonNullable<Running['finish']> },
  now: number,
): Draft {
  const coming = stretches.filter(({ to, expected }) => expected && to > now);
  const left = (at: number): number => at - now;
  const madeOf = coming.map(({ phase, step, from, to }): Evidence => {
    const text = step === null ? phase : `${phase} step ${step}`;
    return { chamber, from: Math.max(now, from), to, state: null, text, counts: 'expected', run: null, amount: to - Math.max(now, from) };
  });
  const amount = madeOf.reduce((sum, row) => sum + (row.amount ?? 0), 0);
  return {
    ...PLAIN,
    words: `time to the finish of ${run}`,
    unit: 'ms',
    value: left(finish.likely),
    low: left(finish.early),
    high: left(finish.late),
    bounds: '10th to 90th percentile of what each stretch to come has taken',
    formula: 'sum of the medians of the stretches still to come; the one that runs lasts at least until now',
    base: finish.basis,
    source: 'percentile by NIST e-Handbook 7.2.6.2 (type 6); the rest: own rule',
    numerator: {
      words: 'stretches still to come',
      unit: 'ms',
      amount,
      parts: madeOf.map(({ text, amount: ms }) => ({ label: text, state: null, amount: ms ?? 0, count: 1 })),
    },
    madeOf,
  };
}
