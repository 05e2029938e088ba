import { expect, test } from 'vitest';
import { Presence } from '../../../gateway/opcua/presence.ts';

function presence() {
  const told: [boolean, number][] = [];
  const p = new Presence((alive, at) => told.push([alive, at]));
  p.expect('fast', 2500, 0);
  p.expect('normal', 10_000, 0);
  const hear = (line: string, ms: number): void => {
    p.beginMessage();
    p.endMessage(line, ms, ms);
  };
  return { p, told, hear };
}

test('word is told at the first message and then every few seconds while messages come', () => {
  const { told, hear } = presence();
  for (let ms = 0; ms <= 10_000; ms += 250) hear('fast', ms);
  expect(told.map(([, at]) => at)).toEqual([0, 2500, 5000, 7500, 10_000]);
});

test('a subscription is overdue after one and a half keep-alive periods and a second', () => {
  const { p, hear } = presence();
  hear('fast', 1000);
  hear('normal', 1000);
  expect(p.overdue(5749)).toBeLessThan(1);
  expect(p.overdue(5750)).toBe(1);
  hear('fast', 16_900);
  expect(p.overdue(17_000)).toBe(1);
});

test('silence is dated at the last word and told once', () => {
  const { p, told, hear } = presence();
  hear('fast', 1200);
  p.fallSilent(9000);
  p.fallSilent(9250);
  expect(told).toEqual([
    [true, 1200],
    [false, 1201],
  ]);
});

test('silence of a server never heard is dated at the moment of saying', () => {
  const { p, told, hear } = presence();
  p.fallSilent(500);
  hear('fast', 900);
  expect(told).toEqual([
    [false, 500],
    [true, 900],
  ]);
});

test('a silence that lost nothing is closed at the instant it began', () => {
  const { p, told, hear } = presence();
  hear('fast', 1000);
  p.fallSilent(8000);
  hear('fast', 20_000);
  expect(told).toEqual([
    [true, 1000],
    [false, 1001],
    [true, 1002],
    [true, 20_000],
  ]);
});

test('a silence that lost values stays a hole until the next word', () => {
  const { p, told, hear } = presence();
  hear('fast', 1000);
  p.fallSilent(8000);
  p.lose('fast');
  p.lose('normal');
  hear('fast', 20_000);
  expect(told).toEqual([
    [true, 1000],
    [false, 1001],
    [true, 20_000],
  ]);
});

test('a short break with a new subscription is a hole even though no deadline passed', () => {
  const { p, told, hear } = presence();
  hear('normal', 900);
  hear('fast', 1000);
  p.lose('fast');
  p.lose('normal');
  hear('fast', 4000);
  p.lose('normal');
  expect(told).toEqual([
    [true, 900],
    [false, 1001],
    [true, 4000],
  ]);
});
