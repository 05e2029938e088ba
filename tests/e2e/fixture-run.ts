/** One run with its record, bands and a deviation, for the page that shows it. */
import type { RunRecordAnswer } from '../../src/run-answer.ts';
import { runBands, verdictOf } from '../../src/run-band.ts';
import { runRecord } from '../../src/run-record.ts';
import { between, runExample, sccm } from '../src/run-example.ts';

export function recordOf(): RunRecordAnswer {
  const input = runExample({ tell: between('gas.1.flow', 270, 290, [[270, sccm(400)]]) });
  const { run } = input;
  const record = runRecord(input);
  const good = Array.from({ length: 6 }, () => ({ run, record: runRecord(runExample()) }));
  const { kind: _kind, at: endedAt, ...row } = run;
  return {
    run: {
      ...row,
      endedAt,
      holes: [{ from: row.startedAt + 120_000, to: row.startedAt + 160_000 }],
      deviations: record.deviations.map(({ code }) => code),
    },
    fact: run,
    record,
    verdict: verdictOf({ run, record }),
    digest: 'c0ffee'.repeat(10),
    intact: true,
    bands: [...runBands({ run, record }, good, good.slice(0, 3))],
    gases: [
      { line: 1, kind: 'O2', fullScaleMolPerS: sccm(1000) },
      { line: 2, kind: 'CF4', fullScaleMolPerS: sccm(500) },
    ],
    units: { pressure: 'mTorr', flow: 'sccm' },
  };
}
