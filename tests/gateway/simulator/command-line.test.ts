import { expect, test } from 'vitest';
import { commandOf, UsageFault } from '../../../gateway/simulator/command-line.ts';

const wrong = (...args: string[]): string => {
  try {
    commandOf(args);
  } catch (error) {
    if (error instanceof UsageFault) return error.message;
    throw error;
  }
  throw new Error('accepted');
};

test('serve has defaults for everything but the data folder, and the control port is the one before the servers', () => {
  expect(commandOf(['serve', '--data', 'd'])).toEqual({
    type: 'serve',
    data: 'd',
    seed: 7,
    speed: 1,
    basePort: 48_401,
    controlPort: 48_400,
    chambers: 12,
    epochMs: null,
    historyFrom: null,
    truth: null,
    plantSnapshot: null,
  });
  expect(commandOf(['serve', '--data', 'd', '--base-port', '5000'])).toMatchObject({ basePort: 5000, controlPort: 4999 });
  expect(commandOf(['serve', '--data', 'd', '--base-port', '0'])).toMatchObject({ basePort: 0, controlPort: 0 });
  expect(commandOf(['serve', '--data', 'd', '--speed', '60', '--epoch', '1700000000000'])).toMatchObject({
    speed: 60,
    epochMs: 1_700_000_000_000,
  });
});

test('a fault has a name, and its time is written as people write times', () => {
  expect(commandOf(['fault', 'leak', '--chamber', 'PC-09', '--size', '140', '--for', '20m'])).toEqual({
    type: 'fault',
    control: '127.0.0.1:48400',
    wish: { fault: 'leak', chamber: 'PC-09', size: 140, durationMs: 1_200_000 },
  });
  expect(commandOf(['fault', '--list'])).toEqual({ type: 'fault-list' });
});

test('no command, or help, is help', () => {
  expect([commandOf([]), commandOf(['help']), commandOf(['--help'])]).toEqual([{ type: 'help' }, { type: 'help' }, { type: 'help' }]);
});

test.each([
  [['dance'], 'There is no command "dance": use serve, fault, truth, site or help.'],
  [['serve'], '--data is missing: name a folder with it.'],
  [['serve', '--data', 'd', '--sped', '60'], 'Unknown option --sped: "serve" takes --data, --seed, --speed'],
  [['serve', '--data'], 'An option of "serve" lacks its value'],
  [['serve', '--data', 'd', '--speed', 'fast'], '--speed is a number from 0.1 to 1000, not "fast".'],
  [['serve', '--data', 'd', '--chambers', '2.5'], '--chambers is a whole number from 1 to 1000, not "2.5".'],
  [['serve', '--data', 'd', '--base-port', '70000'], '--base-port is a whole number from 0 to 65535, not "70000".'],
  [['serve', 'leak', '--data', 'd'], '"serve" takes no "leak": options begin with --.'],
  [['fault'], 'Which fault? "fault --list" shows them all.'],
  [['fault', 'leak', '--for', 'long'], '--for is a time such as 90s, 20m or 2h, not "long".'],
  [['fault', 'leak', 'rf-trip'], 'One fault at a time: "rf-trip" is too much.'],
  [['truth', '--seed', '7'], '--out is missing: name a file with it.'],
])('%j is answered with one sentence', (args, sentence) => {
  expect(wrong(...args)).toContain(sentence);
});
