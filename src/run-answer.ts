/** What is answered about runs: a row of the search, and one run with its record, its seal and what is usual. */
import * as z from 'zod/mini';
import { foundRun } from './contract.ts';
import { runEndedEvent } from './event.ts';
import { runRecord } from './run-facts.ts';

const number = z.nullable(z.number());

/** Of `n` good runs; percentiles are null for fewer than 5. */
export const usual = z.object({ n: z.int(), p10: number, p50: number, p90: number, inside: z.nullable(z.boolean()) });
/** SI; `words` name the figure. `own`: of this chamber. `sisters`: of the others with the same recipe. */
const runBand = z.object({ name: z.string(), words: z.string(), unit: z.string(), value: number, own: usual, sisters: usual });
export type RunBand = z.infer<typeof runBand>;

const RUN_VERDICTS = ['within-limits', 'outside-limits', 'not-enough-data'] as const;
export type RunVerdict = (typeof RUN_VERDICTS)[number];

export const runRecordAnswer = z.object({
  run: foundRun,
  /** The fact of the run's end as it is stored. */
  fact: runEndedEvent,
  record: runRecord,
  verdict: z.enum(RUN_VERDICTS),
  /** SHA-256 of the canonical JSON of {record, run: fact}, in hexadecimal, as it was stored with the run. */
  digest: z.string(),
  /** Whether the stored facts still give that digest. */
  intact: z.boolean(),
  bands: z.array(runBand),
  /** What its chamber has, to show it by. */
  gases: z.array(z.object({ line: z.int(), kind: z.string(), fullScaleMolPerS: z.number() })),
  units: z.object({ pressure: z.string(), flow: z.string() }),
});
export type RunRecordAnswer = z.infer<typeof runRecordAnswer>;
