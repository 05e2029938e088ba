/**
 * A TCP relay in front of a simulated server: the address that clients know. It stays when the server restarts, and it can spoil the link:
 * 'drop' cuts what is open and refuses what comes; 'half-open' swallows every byte both ways and closes nothing.
 */
import { connect, createServer, type AddressInfo, type Server, type Socket } from 'node:net';
import type { LinkState } from './process-image.ts';

const LOOPBACK = '127.0.0.1';

export class LinkProxy {
  #server: Server | null = null;
  #state: LinkState = 'drop';
  #target = 0;
  readonly #sockets = new Set<Socket>();

  /** Listens on loopback only and refuses until told otherwise. Port 0 takes a free one. Rejects when the port is taken. */
  async start(port: number): Promise<number> {
    const server = createServer((client) => this.#accept(client));
    this.#server = server;
    await new Promise<void>((resolve, reject) => {
      server.once('error', reject);
      server.listen(port, LOOPBACK, resolve);
    });
    return (server.address() as AddressInfo).port;
  }

  /** Relays to this loopback port from now on. */
  aim(target: number): void {
    this.#target = target;
  }

  /** Leaving half-open cuts what was swallowed: its byte streams have holes. */
  set(state: LinkState): void {
    if (state === this.#state) return;
    const wasHalfOpen = this.#state === 'half-open';
    this.#state = state;
    if (state === 'half-open') return;
    if (state === 'drop' || wasHalfOpen) this.#cut();
  }

  async stop(): Promise<void> {
    this.#state = 'drop';
    this.#cut();
    const server = this.#server;
    this.#server = null;
    if (server !== null) await new Promise((resolve) => server.close(resolve));
  }

  #accept(client: Socket): void {
    client.on('error', () => client.destroy());
    if (this.#state === 'drop') {
      client.resetAndDestroy();
      return;
    }
    const server = connect(this.#target, LOOPBACK);
    server.on('error', () => server.destroy());
    this.#join(client, server);
    this.#join(server, client);
  }

  #join(from: Socket, to: Socket): void {
    this.#sockets.add(from);
    from.setNoDelay(true);
    from.on('data', (bytes) => {
      if (this.#state !== 'up') return;
      if (!to.write(bytes)) from.pause();
    });
    to.on('drain', () => from.resume());
    from.on('close', () => {
      this.#sockets.delete(from);
      if (this.#state !== 'half-open') to.destroy();
    });
  }

  #cut(): void {
    for (const socket of this.#sockets) socket.resetAndDestroy();
    this.#sockets.clear();
  }
}
