/** What somebody typed, as a command or as one sentence that says what is wrong with it and what would be right. */
import { parseArgs, type ParseArgsConfig } from 'node:util';
import { weekPlus } from '../src/calendar.ts';
import { Fault } from '../src/fault.ts';
import type { TestSendCommand } from './test-send-command.ts';
import type { TrustCommand } from './trust-command.ts';

type Serving = {
  readonly port: number;
  readonly host: string;
  readonly data: string;
  /** Where people open the pages when a proxy or a name stands before them. */
  readonly publicUrl: string | undefined;
  readonly endpoints: ReadonlyMap<string, string>;
};
export type DemoCommand = Serving & {
  readonly type: 'demo';
  readonly seed: number;
  readonly speed: number;
  readonly weeks: number;
  readonly basePort: number;
  /** Another site file for the same plant: other routes, units, shifts. */
  readonly site: string | undefined;
  /** Where the plant writes down what really happened. */
  readonly truth: string | undefined;
};
export type RunCommand = Serving & { readonly type: 'run'; readonly site: string };
export type CheckCommand = {
  readonly type: 'check';
  readonly site: string;
  readonly endpoints: ReadonlyMap<string, string>;
  /** Against what a gateway has in force, by its data folder. */
  readonly diff: boolean;
  /** Against the servers themselves. */
  readonly live: boolean;
  readonly json: boolean;
  /** Where our certificate and the trusted ones are kept. */
  readonly data: string;
};
/** Looks through an unknown server and drafts a site file. */
export type DiscoverCommand = {
  readonly type: 'discover';
  readonly endpoint: string;
  readonly security: 'none' | 'sign' | 'sign-and-encrypt';
  readonly policy: 'Basic256Sha256' | 'Aes128_Sha256_RsaOaep' | 'Aes256_Sha256_RsaPss';
  /** Where our certificate and the trusted ones are kept. */
  readonly data: string;
  /** The draft's file; printed without one. */
  readonly out: string | undefined;
};
/** Writes the sheets of a week to a file. */
export type ReportCommand = {
  readonly type: 'report';
  readonly week: string;
  readonly data: string;
  /** Without one the demo plant's. */
  readonly site: string | undefined;
  readonly out: string;
};
export type Command =
  | ReportCommand
  | DemoCommand
  | RunCommand
  | CheckCommand
  | DiscoverCommand
  | TrustCommand
  | TestSendCommand
  | { readonly type: 'schema' }
  | { readonly type: 'help' };

export const USAGE = `Glowfleet watches a fleet of batch plasma chambers over OPC UA.

  demo   the simulated plant of 12 chambers, on embedded defaults
         [--port 8080] [--host 127.0.0.1] [--data .data/demo] [--public-url URL]
         [--speed 1..120] [--weeks 6] [--seed 7] [--base-port 48401]
         [--site FILE] another site file for the same plant, [--truth FILE] what really happened there
  run    --site FILE --data DIR [--port 8080] [--host 127.0.0.1] [--public-url URL] [--endpoint NAME=opc.tcp://HOST:PORT]
  check  --site FILE [--endpoint NAME=opc.tcp://HOST:PORT]
         [--diff --data DIR] what it would change of what the gateway with that data folder has in force, and which links would start anew
         [--live] every tag against the servers, [--json], [--data .data/discover] where certificates are kept
  discover  --server opc.tcp://HOST:PORT [--security sign-and-encrypt|sign|none] [--policy Basic256Sha256] [--data .data/discover] [--out FILE]
         looks through an unknown server, writes nothing to it, and drafts a site file
  report  --week 2026-W47 [--out week-2026-W47.pdf] [--data .data/demo] [--site FILE]
         writes the sheets of a week from a data folder, also while a gateway uses it

  trust  --data DIR [THUMBPRINT] [--forget THUMBPRINT]
         lists our own, the refused and the trusted certificates; trusts a refused one; forgets a trusted one
  test-send  ROUTE --site FILE
         sends one message by a route, at once and from here, and prints what the receiver said
  schema  prints the JSON Schema of the site file, for editors

  --host 0.0.0.0 opens the pages to the network; without it only this machine sees them.
  GLOWFLEET_WEBHOOK_SECRET in the environment signs webhooks.`;

const SERVING = ['port', 'host', 'data', 'public-url'];
const OPTIONS: Readonly<Record<string, readonly string[]>> = {
  demo: [...SERVING, 'seed', 'speed', 'weeks', 'base-port', 'site', 'truth'],
  run: [...SERVING, 'site', 'endpoint'],
  check: ['site', 'endpoint', 'diff', 'live', 'json', 'data'],
  discover: ['server', 'security', 'policy', 'data', 'out'],
  trust: ['data', 'forget'],
  'test-send': ['site'],
  schema: [],
  report: ['week', 'out', 'data', 'site'],
};

export function commandOf(args: readonly string[]): Command {
  const [name = 'help', ...rest] = args;
  if (['help', '--help', '-h'].includes(name) || rest.includes('--help')) return { type: 'help' };
  const known = OPTIONS[name];
  if (known === undefined) throw new Fault('invalid', `There is no command "${name}": use ${Object.keys(OPTIONS).join(', ')} or --help.`);
  const { alone, others } = withoutAlone(name, rest);
  const values = parsed(name, known, others);
  switch (name) {
    case 'demo':
      return demo(values);
    case 'run':
      return {
        type: 'run',
        site: required(values, 'site', 'the site file'),
        ...serving(values, required(values, 'data', 'a folder for all that is kept')),
      };
    case 'schema':
      return { type: 'schema' };
    case 'trust':
      return {
        type: 'trust',
        data: required(values, 'data', "the gateway's data folder"),
        thumbprint: alone,
        forget: values.one['forget'],
      };
    case 'test-send':
      if (alone === undefined) throw new Fault('invalid', 'Name the route: test-send ROUTE --site FILE.');
      return { type: 'test-send', route: alone, site: required(values, 'site', 'the site file') };
    case 'discover':
      return discover(values);
    case 'report':
      return report(values);
    default:
      return {
        type: 'check',
        site: required(values, 'site', 'the site file'),
        endpoints: endpoints(values),
        diff: values.one['diff'] !== undefined,
        live: values.one['live'] !== undefined,
        json: values.one['json'] !== undefined,
        data: values.one['data'] ?? '.data/discover',
      };
  }
}

/** The one word without an option, first or last: each option has a value. */
function withoutAlone(name: string, rest: readonly string[]): { readonly alone: string | undefined; readonly others: readonly string[] } {
  if (!['trust', 'test-send'].includes(name) || rest.length % 2 === 0) return { alone: undefined, others: rest };
  if (!rest[0]?.startsWith('-')) return { alone: rest[0], others: rest.slice(1) };
  return rest.at(-1)?.startsWith('-') === true ? { alone: undefined, others: rest } : { alone: rest.at(-1), others: rest.slice(0, -1) };
}

type Values = { readonly one: Readonly<Record<string, string | undefined>>; readonly endpoints: readonly string[] };

/** Said or not. */
const FLAGS: readonly string[] = ['live', 'json', 'diff'];

function parsed(command: string, known: readonly string[], args: readonly string[]): Values {
  const options: NonNullable<ParseArgsConfig['options']> = Object.fromEntries(
    known.map((option) => [option, FLAGS.includes(option) ? { type: 'boolean' } : { type: 'string', multiple: option === 'endpoint' }]),
  );
  try {
    const { endpoint, ...one } = parseArgs({ args: [...args], options, strict: true }).values;
    return { one: one as Values['one'], endpoints: (endpoint as string[] | undefined) ?? [] };
  } catch (error) {
    const unknown = /^Unknown option '(.+?)'/.exec((error as Error).message)?.[1];
    const what = unknown === undefined ? `"${args.join(' ')}" cannot be understood` : `There is no option ${unknown}`;
    throw new Fault(
      'invalid',
      `${what}: "${command}" takes ${known.map((option) => (FLAGS.includes(option) ? `--${option}` : `--${option} VALUE`)).join(', ')}.`,
      error,
    );
  }
}

function demo(values: Values): DemoCommand {
  const speed = number(values, 'speed', { fallback: 1, from: 1, to: 120, whole: false });
  return {
    type: 'demo',
    // A faster plant runs ahead of real time and keeps its own books.
    ...serving(values, values.one['data'] ?? (speed === 1 ? '.data/demo' : `.data/demo-${speed}x`)),
    speed,
    seed: number(values, 'seed', { fallback: 7, from: 0, to: 2 ** 31 - 1 }),
    weeks: number(values, 'weeks', { fallback: 6, from: 0, to: 52 }),
    basePort: number(values, 'base-port', { fallback: 48_401, from: 0, to: 65_000 }),
    site: values.one['site'],
    truth: values.one['truth'],
  };
}

function discover(values: Values): DiscoverCommand {
  const endpoint = required(values, 'server', 'the address of the server');
  if (!/^opc\.tcp:\/\/[^\s]+$/.test(endpoint)) throw new Fault('invalid', `--server is opc.tcp://HOST:PORT, not "${endpoint}".`);
  return {
    type: 'discover',
    endpoint,
    security: oneOf(values, 'security', ['sign-and-encrypt', 'sign', 'none']),
    policy: oneOf(values, 'policy', ['Basic256Sha256', 'Aes128_Sha256_RsaOaep', 'Aes256_Sha256_RsaPss']),
    data: values.one['data'] ?? '.data/discover',
    out: values.one['out'],
  };
}

function report(values: Values): ReportCommand {
  const week = required(values, 'week', 'an ISO week such as 2026-W47');
  if (weekPlus(week, 0) === null) throw new Fault('invalid', `--week is an ISO week such as 2026-W47, not "${week}".`);
  return {
    type: 'report',
    week,
    data: values.one['data'] ?? '.data/demo',
    site: values.one['site'],
    out: values.one['out'] ?? `week-${week}.pdf`,
  };
}

/** The first is taken where none is given. */
function oneOf<const Word extends string>(values: Values, name: string, words: readonly [Word, ...Word[]]): Word {
  const given = values.one[name] ?? words[0];
  const known = words.find((word) => word === given);
  if (known === undefined) throw new Fault('invalid', `--${name} is one of ${words.join(', ')}, not "${given}".`);
  return known;
}

function serving(values: Values, data: string): Serving {
  const publicUrl = values.one['public-url'];
  if (publicUrl !== undefined && !/^https?:\/\//.test(publicUrl)) {
    throw new Fault('invalid', `--public-url is an address such as https://wall.plant.example, not "${publicUrl}".`);
  }
  const port = number(values, 'port', { fallback: 8080, from: 0, to: 65_535 });
  return { port, host: values.one['host'] ?? '127.0.0.1', data, publicUrl, endpoints: endpoints(values) };
}

function endpoints({ endpoints: pairs }: Values): ReadonlyMap<string, string> {
  return new Map(
    pairs.map((pair) => {
      const cut = pair.indexOf('=');
      if (cut < 1) throw new Fault('invalid', `--endpoint is NAME=opc.tcp://HOST:PORT, not "${pair}".`);
      return [pair.slice(0, cut), pair.slice(cut + 1)];
    }),
  );
}

function required(values: Values, name: string, what: string): string {
  const value = values.one[name];
  if (value === undefined || value === '') throw new Fault('invalid', `--${name} is missing: name ${what} with it.`);
  return value;
}

type Bounds = { readonly fallback: number; readonly from: number; readonly to: number; readonly whole?: boolean };

function number(values: Values, name: string, { fallback, from, to, whole = true }: Bounds): number {
  const given = values.one[name];
  if (given === undefined) return fallback;
  const value = Number(given);
  if (given.trim() !== '' && value >= from && value <= to && (!whole || Number.isInteger(value))) return value;
  throw new Fault('invalid', `--${name} is a ${whole ? 'whole ' : ''}number from ${from} to ${to}, not "${given}".`);
}
