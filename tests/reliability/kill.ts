/** node tests/reliability/kill.ts [kills = 50] [seed = 1]: kills the gateway's memory with -9 and prints what became of the books. */
import { killRun } from './kill-run.ts';

const [kills = 50, seed = 1] = process.argv.slice(2).map(Number);
console.log('kill   after ms   told so far   in the store   alerts   faults');
const result = await killRun({
  kills,
  seed,
  onKill: ({ kill, afterMs, told, stored, alerts, faults }) =>
    console.log(
      `${`${kill}`.padStart(4)}${`${afterMs}`.padStart(11)}${`${told}`.padStart(14)}${`${stored}`.padStart(15)}${`${alerts}`.padStart(9)}   ${faults.join('; ') || 'none'}`,
    ),
});
console.log(
  `${kills} kills (seed ${seed}): ${result.told} facts told, ${result.stored} stored, ${result.alerts} alerts, ${result.faults.length} faults`,
);
process.exitCode = result.faults.length === 0 ? 0 : 1;
