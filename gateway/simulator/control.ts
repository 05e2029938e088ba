/**
 * The running simulator's ear: a small HTTP server on loopback that takes fault orders as JSON. A page in a browser cannot use it: requests
 * with an Origin, with a foreign Host or without a JSON content type are refused.
 */
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { judgedOrder } from './orders.ts';
import type { Plant } from './plant-port.ts';

const LOOPBACK = '127.0.0.1';
const LONGEST_BODY = 4096;

export class ControlPort {
  readonly #plant: Pick<Plant, 'chambers' | 'inject'>;
  #server: Server | null = null;
  #isOpen = false;

  constructor(plant: Pick<Plant, 'chambers' | 'inject'>) {
    this.#plant = plant;
  }

  /** Gives the port back; 0 takes a free one. Rejects when it is taken. Orders are put off until `open`. */
  async start(port: number): Promise<number> {
    const server = createServer((request, response) => {
      (this.#isOpen ? answer(request, this.#plant) : tooEarly()).then(
        ([status, body]) => reply(response, status, body),
        () => reply(response, 500, { wrong: 'The simulator could not carry out the order.' }),
      );
    });
    await new Promise<void>((resolve, reject) => {
      server.once('error', reject);
      server.listen(port, LOOPBACK, resolve);
    });
    this.#server = server;
    return (server.address() as AddressInfo).port;
  }

  open(): void {
    this.#isOpen = true;
  }

  async stop(): Promise<void> {
    const server = this.#server;
    this.#server = null;
    if (server === null) return;
    server.closeAllConnections();
    await new Promise((resolve) => server.close(resolve));
  }
}

type Answer = readonly [status: number, body: object];

function tooEarly(): Promise<Answer> {
  return Promise.resolve([503, { wrong: 'The plant still lives through its past: try again in half a minute.' }]);
}

async function answer(request: IncomingMessage, plant: Pick<Plant, 'chambers' | 'inject'>): Promise<Answer> {
  const refusal = refused(request);
  if (refusal !== null) return [403, { wrong: refusal }];
  if (request.method !== 'POST' || request.url !== '/faults') return [404, { wrong: 'The only thing to do here is POST /faults.' }];
  const judged = judgedOrder(parsed(await bodyOf(request)), plant.chambers);
  if ('wrong' in judged) return [400, judged];
  plant.inject(judged.order);
  return [200, judged];
}

function refused(request: IncomingMessage): string | null {
  if (request.headers.origin !== undefined) return 'Browsers may not order faults.';
  if (!/^(127\.0\.0\.1|localhost)(:\d+)?$/.test(request.headers.host ?? '')) return 'Orders come from this machine only.';
  if (request.headers['content-type'] !== 'application/json') return 'Orders are JSON.';
  return null;
}

async function bodyOf(request: IncomingMessage): Promise<string> {
  let body = '';
  for await (const piece of request) {
    body += String(piece);
    if (body.length > LONGEST_BODY) return '';
  }
  return body;
}

/** Not JSON is no order, and judged as such. */
function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}

function reply(response: ServerResponse, status: number, body: object): void {
  response.writeHead(status, { 'content-type': 'application/json', connection: 'close' });
  response.end(JSON.stringify(body));
}

/** Sends a wish to a running simulator; null when it was carried out, else one sentence with the cure. */
export async function sendOrder(address: string, wish: object): Promise<string | null> {
  let response: Response;
  try {
    response = await fetch(`http://${address}/faults`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(wish),
      signal: AbortSignal.timeout(5000),
    });
  } catch {
    return `No simulator answers at ${address}: start one (npm start), or name its control port with --control 127.0.0.1:PORT.`;
  }
  if (response.ok) return null;
  const body = parsed(await response.text()) as { wrong?: unknown } | null;
  return typeof body?.wrong === 'string'
    ? body.wrong
    : `Something at ${address} answered, but it is no simulator: name the right port with --control.`;
}
