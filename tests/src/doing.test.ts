import { describe, expect, test } from 'vitest';
import { doingOf } from '../../src/doing.ts';

type Tile = Parameters<typeof doingOf>[0];
const running: Tile = {
  state: 'productive',
  link: 'live',
  phase: 'plasma',
  need: null,
  told: null,
  waitingSince: null,
  run: { run: 'r', startedAt: 0, recipe: null, load: null, finish: null, stretches: [], holes: [] },
};
const told = { entry: 'e', by: 'A. Falk', observed: { state: 'standby' as const, reason: 'idle' } };

describe('what a chamber does', () => {
  test('[DO1] a chamber that is not heard is unobserved, whatever it did last', () => {
    expect([
      doingOf({ ...running, link: 'silent' }),
      doingOf({ ...running, link: 'never' }),
      doingOf({ ...running, state: 'unobserved' }),
    ]).toEqual(['unobserved', 'unobserved', 'unobserved']);
  });

  test('[DO2] only a run in progress is running', () => {
    const of = (phase: Tile['phase']) => doingOf({ ...running, phase });
    expect([of('pump-down'), of('plasma'), of('vent')]).toEqual(['running', 'running', 'running']);
    expect([of('load'), of('unload'), of('hold')]).toEqual(['loading', 'unloading', 'hold']);
  });

  test('[DO3] with a finished load inside it waits to be unloaded', () => {
    const vented: Tile = { ...running, phase: 'wait-unload', need: 'unload', waitingSince: 5 };
    expect([doingOf(vented), doingOf({ ...vented, state: 'standby' }), doingOf({ ...vented, state: 'unscheduled-downtime' })]).toEqual([
      'unload',
      'unload',
      'down',
    ]);
    const idle: Tile = { ...running, state: 'standby', phase: 'idle', run: null };
    expect([doingOf({ ...idle, need: 'load' }), doingOf(idle)]).toEqual(['load', 'idle']);
  });

  test('[DO4] told productive without a run is not running', () => {
    expect([doingOf({ ...running, told, run: null }), doingOf({ ...running, told })]).toEqual(['told', 'running']);
  });

  test('[DO5] scheduled downtime is maintenance, unscheduled is down; engineering and nonscheduled keep their names', () => {
    const of = (state: Tile['state']) => doingOf({ ...running, state });
    expect([of('scheduled-downtime'), of('unscheduled-downtime'), of('engineering'), of('nonscheduled')]).toEqual([
      'maintenance',
      'down',
      'engineering',
      'nonscheduled',
    ]);
  });
});
