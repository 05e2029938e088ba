/**
 * Loaded before a program (`--import`): collects garbage every ten seconds, or at the signal SIGUSR2 only, and writes down what is left, heap and
 * what hangs on it, so that memory is what is kept and not what waits to be collected. One file per process in the folder named by the environment.
 */
import { appendFileSync } from 'node:fs';
import { join } from 'node:path';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { isMainThread } from 'node:worker_threads';

const folder = process.env.GLOWFLEET_BENCH_MEMORY;
const part = { 'main.ts': 'gateway', 'child.ts': 'link' }[(process.argv[1] ?? '').split('/').at(-1)];
const isSimulator = (process.argv[1] ?? '').includes('simulator');

const asked = process.env.GLOWFLEET_BENCH_MEMORY_WHEN === 'asked';
// Its parent signals all that the program started: a process that is not looked at must not end by it.
if (isMainThread && asked) process.on('SIGUSR2', () => {});

if (isMainThread && folder !== undefined && part !== undefined && !isSimulator) {
  setFlagsFromString('--expose-gc');
  const collect = runInNewContext('gc');
  const look = () => {
    collect();
    const { heapUsed, external } = process.memoryUsage();
    appendFileSync(join(folder, part), `${Date.now()} ${heapUsed + external}\n`);
  };
  if (asked) process.on('SIGUSR2', look);
  else setInterval(look, 10_000).unref();
}
