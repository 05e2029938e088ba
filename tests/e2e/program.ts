/** The real program on free ports in a folder of its own: what every end to end test starts with. */
import { spawn, type ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';

export type ProgramOptions = {
  /** Plant time against real time. */
  readonly speed?: number;
  /** Weeks of history before the start. */
  readonly weeks?: number;
  readonly seed?: number;
  /** A folder to go on in; without it a fresh one, gone with `stop`. */
  readonly data?: string;
  /** Other arguments than the demo's: `['run', '--site', ...]`. --port and --data are added. */
  readonly args?: readonly string[];
  /** More arguments for the demo. */
  readonly more?: readonly string[];
  /** Any free one without it. */
  readonly port?: number;
  readonly env?: Readonly<Record<string, string>>;
};

export type Program = {
  readonly url: string;
  readonly data: string;
  /** Where the simulated plant takes fault orders, '' without one. */
  readonly control: string;
  readonly pid: number;
  /** Everything it printed so far. */
  readonly output: () => string;
  /** As Ctrl-C does. The exit code; null when a signal ended it. */
  stop(): Promise<number | null>;
  /** As a power cut does. The folder stays if it was given. */
  kill(): Promise<void>;
  readonly exited: Promise<number | null>;
};

const START_MS = 120_000;

export async function startProgram(options: ProgramOptions = {}): Promise<Program> {
  const data = options.data ?? mkdtempSync(join(tmpdir(), 'glowfleet e2e '));
  const child = spawn(process.execPath, ['gateway/main.ts', ...argumentsOf(options), '--port', `${options.port ?? 0}`, '--data', data], {
    stdio: ['ignore', 'pipe', 'pipe', 'ipc'],
    env: { ...process.env, ...options.env },
  });
  const lines: string[] = [];
  const exited = new Promise<number | null>((resolve) => child.once('exit', (code) => resolve(code)));
  const { url, control } = await ready(child, lines, options.args === undefined).catch((error: unknown) => {
    child.kill('SIGKILL');
    throw error;
  });
  const gone = async (): Promise<number | null> => {
    const code = await exited;
    if (options.data === undefined) rmSync(data, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
    return code;
  };
  return {
    url,
    data,
    control,
    pid: child.pid as number,
    output: () => lines.join('\n'),
    stop: () => {
      child.kill('SIGINT');
      return gone();
    },
    kill: async () => {
      child.kill('SIGKILL');
      await gone();
    },
    exited,
  };
}

function argumentsOf({ args, speed = 1, weeks = 0, seed = 7, more = [] }: ProgramOptions): readonly string[] {
  return args ?? ['demo', '--speed', `${speed}`, '--weeks', `${weeks}`, '--seed', `${seed}`, '--base-port', '0', ...more];
}

/** Waits for the line with the address, of the demo also for the one with its control port; a program that ends first rejects with all it said. */
function ready(child: ChildProcess, lines: string[], isDemo: boolean): Promise<{ url: string; control: string }> {
  return new Promise((resolve, reject) => {
    const late = setTimeout(() => reject(new Error(`no address within ${START_MS / 1000} s:\n${lines.join('\n')}`)), START_MS);
    const hear = (line: string): void => {
      lines.push(line);
      const url = /(https?:\/\/\S+)/.exec(lines.join('\n'))?.[1];
      const control = isDemo ? /--control (\S+)/.exec(line)?.[1] : '';
      if (url === undefined || control === undefined) return;
      clearTimeout(late);
      resolve({ url, control });
    };
    for (const stream of [child.stdout, child.stderr]) if (stream) createInterface({ input: stream }).on('line', hear);
    child.once('exit', (code) => {
      clearTimeout(late);
      reject(new Error(`the program ended with ${code}:\n${lines.join('\n')}`));
    });
  });
}
