/**
 * How often a burst is told where there is none, how many real ones are noticed and how soon: `node tests/accuracy/bursts.ts` writes docs/alarms.md;
 * with `--tuning` it prints the report of the seeds that the rule was tuned on. The figures written are of seeds never looked at while tuning.
 */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { HELD_OUT, TUNING } from './burst-years.ts';
import { burstReport } from './bursts-report.ts';

if (process.argv.includes('--tuning')) console.log(burstReport(TUNING));
else writeFileSync(join(import.meta.dirname, '../../docs/alarms.md'), burstReport(HELD_OUT));
