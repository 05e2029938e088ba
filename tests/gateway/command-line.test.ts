import { describe, expect, test } from 'vitest';
import { commandOf } from '../../gateway/command-line.ts';

describe('the command line', () => {
  test('nothing, help or --help anywhere shows how to use it', () => {
    for (const args of [[], ['help'], ['--help'], ['demo', '--help']]) expect(commandOf(args).type).toBe('help');
  });

  test('the demo has embedded defaults and listens on loopback', () => {
    expect(commandOf(['demo'])).toMatchObject({ port: 8080, host: '127.0.0.1', data: '.data/demo', speed: 1, weeks: 6, seed: 7 });
  });

  test('a faster plant keeps its own books', () => {
    expect(commandOf(['demo', '--speed', '60'])).toMatchObject({ speed: 60, data: '.data/demo-60x' });
    expect(commandOf(['demo', '--speed', '60', '--data', 'd'])).toMatchObject({ data: 'd' });
  });

  test('the demo takes another site file for the same plant', () => {
    expect(commandOf(['demo'])).toMatchObject({ site: undefined, truth: undefined });
    expect(commandOf(['demo', '--site', 's.yaml', '--truth', 't.jsonl'])).toMatchObject({ site: 's.yaml', truth: 't.jsonl' });
  });

  test('a report needs a week that exists; the rest has defaults', () => {
    expect(commandOf(['report', '--week', '2026-W47'])).toEqual({
      type: 'report',
      week: '2026-W47',
      data: '.data/demo',
      site: undefined,
      out: 'week-2026-W47.pdf',
    });
    expect(() => commandOf(['report', '--week', '2025-W53'])).toThrow('--week is an ISO week such as 2026-W47, not "2025-W53".');
  });

  test('endpoints are replaced by name', () => {
    const command = commandOf(['run', '--site', 's.yaml', '--data', 'd', '--endpoint', 'amber=opc.tcp://a:1?x=2', '--endpoint', 'birch=b']);
    expect(command).toMatchObject({
      type: 'run',
      endpoints: new Map([
        ['amber', 'opc.tcp://a:1?x=2'],
        ['birch', 'b'],
      ]),
    });
  });

  test('a route is tried by its name, before or after the site file', () => {
    const command = { type: 'test-send', route: 'engineer on duty', site: 's.yaml' };
    expect(commandOf(['test-send', 'engineer on duty', '--site', 's.yaml'])).toEqual(command);
    expect(commandOf(['test-send', '--site', 's.yaml', 'engineer on duty'])).toEqual(command);
    expect(() => commandOf(['test-send', '--site', 's.yaml'])).toThrow('Name the route: test-send ROUTE --site FILE.');
    expect(() => commandOf(['test-send', 'hook'])).toThrow('--site is missing');
    expect(commandOf(['trust', '--data', 'd', 'AB12'])).toMatchObject({ thumbprint: 'AB12', forget: undefined });
    expect(commandOf(['trust', 'AB12', '--data', 'd'])).toMatchObject({ thumbprint: 'AB12' });
    expect(commandOf(['trust', '--data', 'd', '--forget', 'AB12'])).toMatchObject({ thumbprint: undefined, forget: 'AB12' });
  });

  test.each([
    [['dmeo'], 'There is no command "dmeo": use demo, run, check, discover, trust, test-send, schema, report or --help.'],
    [['demo', '--speeed', '2'], 'There is no option --speeed: "demo" takes --port VALUE'],
    [['demo', '--speed', '500'], '--speed is a number from 1 to 120, not "500".'],
    [['demo', '--port', '80.5'], '--port is a whole number from 0 to 65535, not "80.5".'],
    [['demo', '--weeks', ''], '--weeks is a whole number from 0 to 52, not "".'],
    [['run', '--data', 'd'], '--site is missing: name the site file with it.'],
    [['run', '--site', 's'], '--data is missing: name a folder for all that is kept with it.'],
    [['run', '--site', 's', '--data', 'd', '--endpoint', 'amber'], '--endpoint is NAME=opc.tcp://HOST:PORT, not "amber".'],
    [['demo', '--public-url', 'wall'], '--public-url is an address such as https://wall.plant.example, not "wall".'],
  ])('%j is one sentence with the cure', (args, sentence) => {
    expect(() => commandOf(args)).toThrow(sentence);
  });
});
