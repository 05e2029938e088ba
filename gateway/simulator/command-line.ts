/**
 * What somebody typed, as a command or as one sentence that says what is wrong with it and what would be right.
 */
import { parseArgs, type ParseArgsConfig } from 'node:util';
import { durationMs } from './orders.ts';

export type ServeCommand = {
  readonly type: 'serve';
  readonly seed: number;
  readonly speed: number;
  readonly basePort: number;
  readonly controlPort: number;
  readonly data: string;
  readonly chambers: number;
  readonly epochMs: number | null;
  readonly truth: string | null;
  readonly plantSnapshot: string | null;
  readonly historyFrom: number | null;
};
export type Command =
  | ServeCommand
  | {
      readonly type: 'fault';
      readonly wish: { fault: string; chamber: string | null; size: number | null; durationMs: number | null };
      readonly control: string;
    }
  | { readonly type: 'fault-list' }
  | { readonly type: 'truth'; readonly seed: number; readonly days: number; readonly chambers: number; readonly out: string }
  | { readonly type: 'site'; readonly chambers: number; readonly basePort: number }
  | { readonly type: 'help' };

export const USAGE = `The simulated plant: Quellmoor Works, Hall 3.

  serve --data DIR [--seed 7] [--speed 1] [--base-port 48401] [--control-port 48400] [--chambers 12]
        [--epoch MS] [--truth FILE] [--plant-snapshot FILE] [--history-from MS]
  fault NAME [--chamber PC-05] [--size 150] [--for 20m] [--control 127.0.0.1:48400]
  fault --list
  truth --out FILE [--seed 7] [--days 30] [--chambers 12]
  site [--chambers 12] [--base-port 48401]`;

/** Wrong input: thrown here, shown as it is. */
export class UsageFault extends Error {}

type Options = NonNullable<ParseArgsConfig['options']>;
const OPTIONS: Readonly<Record<string, readonly string[]>> = {
  serve: ['data', 'seed', 'speed', 'base-port', 'control-port', 'chambers', 'epoch', 'truth', 'plant-snapshot', 'history-from'],
  fault: ['chamber', 'size', 'for', 'control', 'list'],
  truth: ['out', 'seed', 'days', 'chambers'],
  site: ['chambers', 'base-port'],
};

export function commandOf(args: readonly string[]): Command {
  const [name = 'help', ...rest] = args;
  if (['help', '--help', '-h'].includes(name)) return { type: 'help' };
  const known = OPTIONS[name];
  if (known === undefined) throw new UsageFault(`There is no command "${name}": use ${Object.keys(OPTIONS).join(', ')} or help.`);
  const { values, positionals } = parsed(name, known, rest);
  if (name !== 'fault' && positionals.length > 0) throw new UsageFault(`"${name}" takes no "${positionals[0]}": options begin with --.`);
  switch (name) {
    case 'serve':
      return serve(values);
    case 'fault':
      return fault(values, positionals);
    case 'truth':
      return {
        type: 'truth',
        out: required(values, 'out', 'a file'),
        ...seedAndChambers(values),
        days: number(values, 'days', { fallback: 30, from: 1, to: 3660 }),
      };
    default:
      return { type: 'site', chambers: chamberCount(values), basePort: port(values, 'base-port', 48_401) };
  }
}

type Values = Readonly<Record<string, string | boolean | undefined>>;

function parsed(command: string, known: readonly string[], args: readonly string[]): { values: Values; positionals: string[] } {
  const options: Options = Object.fromEntries(known.map((option) => [option, { type: option === 'list' ? 'boolean' : 'string' }]));
  try {
    return parseArgs({ args: [...args], options, allowPositionals: true, strict: true }) as { values: Values; positionals: string[] };
  } catch (error) {
    const unknown = /^Unknown option '(.+?)'/.exec((error as Error).message)?.[1];
    const taken = `"${command}" takes ${known.map((option) => `--${option}`).join(', ')}.`;
    throw new UsageFault(
      unknown === undefined ? `An option of "${command}" lacks its value: ${taken}` : `Unknown option ${unknown}: ${taken}`,
    );
  }
}

function serve(values: Values): ServeCommand {
  const basePort = port(values, 'base-port', 48_401);
  return {
    type: 'serve',
    ...seedAndChambers(values),
    data: required(values, 'data', 'a folder'),
    basePort,
    controlPort: port(values, 'control-port', basePort === 0 ? 0 : basePort - 1),
    speed: number(values, 'speed', { fallback: 1, from: 0.1, to: 1000, whole: false }),
    epochMs: instant(values, 'epoch'),
    historyFrom: instant(values, 'history-from'),
    truth: text(values, 'truth'),
    plantSnapshot: text(values, 'plant-snapshot'),
  };
}

function fault(values: Values, positionals: readonly string[]): Command {
  if (values['list'] === true) return { type: 'fault-list' };
  const [name, more] = positionals;
  if (name === undefined) throw new UsageFault('Which fault? "fault --list" shows them all.');
  if (more !== undefined) throw new UsageFault(`One fault at a time: "${more}" is too much.`);
  const span = text(values, 'for');
  const wish = {
    fault: name,
    chamber: text(values, 'chamber'),
    size: values['size'] === undefined ? null : number(values, 'size', { fallback: 0, from: -1e9, to: 1e9, whole: false }),
    durationMs: span === null ? null : durationMs(span),
  };
  if (span !== null && wish.durationMs === null) throw new UsageFault(`--for is a time such as 90s, 20m or 2h, not "${span}".`);
  return { type: 'fault', wish, control: text(values, 'control') ?? '127.0.0.1:48400' };
}

function seedAndChambers(values: Values): { seed: number; chambers: number } {
  return { seed: number(values, 'seed', { fallback: 7, from: 0, to: 2 ** 31 - 1 }), chambers: chamberCount(values) };
}

function chamberCount(values: Values): number {
  return number(values, 'chambers', { fallback: 12, from: 1, to: 1000 });
}

function port(values: Values, name: string, fallback: number): number {
  return number(values, name, { fallback, from: 0, to: 65_535 });
}

function instant(values: Values, name: string): number | null {
  return values[name] === undefined ? null : number(values, name, { fallback: 0, from: 0, to: 8.64e15 });
}

function text(values: Values, name: string): string | null {
  const value = values[name];
  return typeof value === 'string' && value !== '' ? value : null;
}

function required(values: Values, name: string, what: string): string {
  const value = text(values, name);
  if (value === null) throw new UsageFault(`--${name} is missing: name ${what} with it.`);
  return value;
}

type Bounds = { readonly fallback: number; readonly from: number; readonly to: number; readonly whole?: boolean };

function number(values: Values, name: string, { fallback, from, to, whole = true }: Bounds): number {
  const given = text(values, name);
  if (given === null) return fallback;
  const value = Number(given);
  if (Number.isFinite(value) && value >= from && value <= to && (!whole || Number.isInteger(value))) return value;
  throw new UsageFault(`--${name} is a ${whole ? 'whole ' : ''}number from ${from} to ${to}, not "${given}".`);
}
