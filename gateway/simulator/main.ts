/**
 * The simulated plant from the command line. Everything wrong is one sentence on stderr with its cure, and an exit code that is not 0.
 */
import { appendFile } from 'node:fs';
import { join } from 'node:path';
import { commandOf, type Command, type ServeCommand, USAGE, UsageFault } from './command-line.ts';
import { sendOrder } from './control.ts';
import { faultList } from './orders.ts';

const LONGEST_STOP_MS = 1800;

async function run(command: Command): Promise<void> {
  switch (command.type) {
    case 'help':
      return say(USAGE);
    case 'fault-list':
      return say(faultList());
    case 'fault': {
      const wrong = await sendOrder(command.control, command.wish);
      if (wrong !== null) throw new UsageFault(wrong);
      return say(`Ordered: ${command.wish.fault}${command.wish.chamber === null ? '' : ` on ${command.wish.chamber}`}.`);
    }
    case 'truth':
      return say(`${await (await import('./truth-story.ts')).writeStory(command)} lines of truth in ${command.out}.`);
    case 'site':
      return say(await (await import('./site-text.ts')).siteOf(command));
    case 'serve':
      return serve(command);
  }
}

async function serve(command: ServeCommand): Promise<void> {
  const [{ Simulator }, { quietLibrary }, { parentChannel, plantMaker }] = await Promise.all([
    import('./simulator.ts'),
    import('./quiet.ts'),
    import('./plant-maker.ts'),
  ]);
  quietLibrary(errorLog(command.data));
  process.once('uncaughtException', (error: Error) => {
    complain(error.stack ?? '');
    fail(error);
  });
  const simulator = new Simulator({ command, maker: plantMaker(command, parentChannel()), onError: (error) => complain(sentence(error)) });
  let stopping = false;
  const stop = (): void => {
    stopping = true;
    setTimeout(() => process.exit(1), LONGEST_STOP_MS).unref();
    void simulator.stop().then(
      () => process.exit(0),
      (error: unknown) => fail(error),
    );
  };
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, stop);
  process.once('disconnect', stop);
  const ready = await simulator.start().catch((error: unknown) => {
    if (!stopping) throw error;
    return null;
  });
  if (ready === null) return;
  process.send?.({ type: 'ready', ...ready });
  const servers = Object.entries(ready.endpoints).map(([name, url]) => `${name} ${url}`);
  say(`Simulated plant ready at ${command.speed}x: ${servers.join(', ')}; faults at ${ready.control}`);
}

/** The library's words about clients that went away and the like: kept for whoever looks for them, never more than a megabyte a start. */
function errorLog(folder: string): (text: string) => void {
  let left = 1_000_000;
  return (text) => {
    const line = `${new Date().toISOString()} ${text}\n`;
    left -= line.length;
    if (left > 0) appendFile(join(folder, 'opcua.log'), line, () => {});
  };
}

function sentence(error: unknown): string {
  const { code, port, path, message } = error as NodeJS.ErrnoException & { port?: number };
  if (code === 'EADDRINUSE') {
    return `Port ${port} is in use: stop the program that holds it (another simulator?), or choose others with --base-port and --control-port.`;
  }
  if (code === 'ENOENT') return `${path} cannot be written: its folder is not there.`;
  if (code === 'EACCES' || code === 'EROFS' || code === 'EPERM') return `${path} cannot be written: choose another folder with --data.`;
  return message;
}

function say(text: string): void {
  process.stdout.write(`${text}\n`);
}

function complain(text: string): void {
  process.stderr.write(`${text}\n`);
}

function fail(error: unknown): never {
  complain(sentence(error));
  process.exit(error instanceof UsageFault ? 2 : 1);
}

try {
  await run(commandOf(process.argv.slice(2)));
} catch (error) {
  fail(error);
}
