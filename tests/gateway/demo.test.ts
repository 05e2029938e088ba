import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { acceleratedClock } from '../../gateway/clock.ts';
import { parseSite } from '../../gateway/config.ts';
import { siteCore } from '../../gateway/core.ts';
import { epochOf, startDemo } from '../../gateway/demo.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import { TraceRecorder } from '../../gateway/trace-recorder.ts';
import { Fault } from '../../src/fault.ts';

const HOUR = 3_600_000;
const NOW = Date.UTC(2026, 10, 25, 10);
/** What the clock made from that epoch reads at `NOW`; it reads Date.now(), so its own formula is used. */
const plantTime = (epoch: number, speed: number): number => Math.round(epoch + (NOW - epoch) * speed);

describe("the demo's plant time", () => {
  test('equals real time on a first start, at any speed', () => {
    expect(epochOf(1, NOW, 0)).toBe(NOW);
    expect(Math.abs(plantTime(epochOf(60, NOW, 0), 60) - NOW)).toBeLessThanOrEqual(60);
  });

  test('goes on from where a faster plant stood, never back', () => {
    const last = NOW + 9 * HOUR;
    const at = plantTime(epochOf(60, NOW, last), 60);
    expect(at).toBeGreaterThan(last);
    expect(at).toBeLessThan(last + 2000);
  });

  test('catches up with real time after a long stop', () => {
    expect(Math.abs(plantTime(epochOf(30, NOW, NOW - 100 * HOUR), 30) - NOW)).toBeLessThanOrEqual(30);
  });

  test('cannot run at speed 1 in a folder whose plant is ahead, and says so', () => {
    expect(() => epochOf(1, NOW, NOW + 9 * HOUR)).toThrow(
      'The plant of this data folder ran faster before and is 9.0 h ahead. Choose --speed above 1, or another folder with --data.',
    );
  });

  test('is the same formula as the clock uses', () => {
    const epoch = Date.now() - 1000;
    const read = acceleratedClock(epoch, 60).now();
    expect(read).toBeGreaterThanOrEqual(epoch + 60_000);
    expect(read).toBeLessThan(epoch + 60_000 + 60 * 500);
  });
});

/** A plant that has no past but its end, which it tells when it is asked to. */
const PLANT = `
  process.on('message', ({ type, at }) => type === 'until' && process.send({ type: 'history-end', at }));
  process.on('disconnect', () => process.exit(0));
  process.send({ type: 'ready', endpoints: {}, control: '127.0.0.1:1' });
`;

test('a past that cannot be stored ends the start with the reason, and never hangs it', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'glowfleet-demo-'));
  const program = join(folder, 'plant.mjs');
  writeFileSync(program, PLANT);
  const file = 'gateway/simulator/quellmoor.yaml';
  const site = parseSite(file, readFileSync(file, 'utf8'));
  const memory = memoryStore();
  const full = new Fault('unavailable', 'The disk is full.');
  const store = {
    ...memory,
    append: (commit: Parameters<typeof memory.append>[0]) => (commit.snapshots.size > 1 ? Promise.reject(full) : memory.append(commit)),
  };
  const ends: Fault[] = [];
  const demo = await startDemo({
    ...{
      site,
      store,
      folder,
      program,
      core: siteCore(site),
      recorder: new TraceRecorder({ store }),
      seed: 7,
      speed: 1,
      weeks: 1,
      basePort: 0,
    },
    ...{ truth: undefined, onProgress: () => undefined, onEnd: (fault: Fault) => void ends.push(fault) },
  });
  await expect(demo.past?.end(Date.now())).rejects.toThrow('The disk is full.');
  expect(ends).toEqual([full]);
  await demo.stop();
});
