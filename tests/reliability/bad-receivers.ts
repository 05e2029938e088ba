/**
 * Receivers of messages that misbehave by seeded dice, over real sockets, and keep all that reached them: what they acknowledged, and what they
 * only heard. A sender that is killed between the two must send again.
 */
import { createServer as createHttp, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { SMTPServer } from 'smtp-server';
import { mailHeader, mailText } from '../e2e/receivers.ts';

export type Heard = {
  readonly by: 'webhook' | 'mail';
  /** Idempotency-Key, or Message-ID. */
  readonly key: string;
  /** The alerts that a webhook names; of a mail its subject. */
  readonly tells: string;
  readonly text: string;
  acknowledged: boolean;
};

export type BadReceivers = {
  readonly webhook: string;
  readonly smtp: string;
  readonly heard: readonly Heard[];
  /** From now on they do as they should. */
  behave(): void;
  close(): Promise<void>;
};

type Mood = 'good' | 'refuses' | 'cuts' | 'hangs' | 'garbage';
const MOODS: readonly (readonly [Mood, number])[] = [
  ['refuses', 0.12],
  ['cuts', 0.12],
  ['hangs', 0.06],
  ['garbage', 0.05],
];

export async function badReceivers(random: () => number): Promise<BadReceivers> {
  const heard: Heard[] = [];
  let isGood = false;
  const mood = (): Mood => {
    let left = isGood ? 1 : random();
    return MOODS.find(([, share]) => (left -= share) < 0)?.[0] ?? 'good';
  };
  const http = await webhookServer(heard, mood);
  const mail = await mailServer(heard, mood);
  return {
    webhook: http.url,
    smtp: mail.url,
    heard,
    behave: () => (isGood = true),
    close: async () => void (await Promise.all([http.close(), mail.close()])),
  };
}

async function webhookServer(heard: Heard[], mood: () => Mood) {
  const server = createHttp((request, response) => {
    const pieces: Buffer[] = [];
    request.on('error', () => undefined);
    request.on('data', (piece: Buffer) => pieces.push(piece));
    request.on('end', () => {
      const text = Buffer.concat(pieces).toString();
      const one: Heard = {
        by: 'webhook',
        key: String(request.headers['idempotency-key']),
        tells: alertsIn(text),
        text,
        acknowledged: false,
      };
      heard.push(one);
      answer(response, mood(), one);
    });
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const close = async (): Promise<void> => {
    server.closeAllConnections();
    await new Promise((resolve) => server.close(resolve));
  };
  return { url: `http://127.0.0.1:${(server.address() as AddressInfo).port}/`, close };
}

function answer(response: ServerResponse, mood: Mood, one: Heard): void {
  switch (mood) {
    case 'good':
      one.acknowledged = true;
      response.writeHead(200, { 'content-length': 1000 }).write('half of what was promised');
      return;
    case 'refuses':
      response.writeHead(503).end();
      return;
    case 'cuts':
      response.destroy();
      return;
    case 'garbage':
      response.socket?.end('no such thing as HTTP\r\n\r\n');
      return;
    case 'hangs':
      return;
  }
}

/** Sorted ids: two copies of one message tell of the same alerts, however far these have got meanwhile. */
function alertsIn(text: string): string {
  const { alert, alerts } = JSON.parse(text) as { alert: { id: string } | null; alerts?: readonly { id: string }[] };
  return [...(alert === null ? [] : [alert]), ...(alerts ?? [])]
    .map(({ id }) => id)
    .sort()
    .join('\n');
}

async function mailServer(heard: Heard[], mood: () => Mood) {
  const server = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS', 'AUTH'],
    logger: false,
    onData: (stream, _session, done) => {
      let raw = '';
      stream.on('data', (piece: Buffer) => (raw += piece.toString('utf8')));
      stream.on('end', () => {
        const one: Heard = {
          by: 'mail',
          key: mailHeader(raw, 'Message-ID'),
          tells: mailHeader(raw, 'Subject').replace(/^[^:]*: /, ''),
          text: mailText(raw),
          acknowledged: false,
        };
        heard.push(one);
        const now = mood();
        if (now === 'hangs') return;
        if (now === 'good') one.acknowledged = true;
        done(now === 'good' ? null : Object.assign(new Error('later'), { responseCode: 451 }));
      });
    },
  });
  server.on('error', () => undefined);
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', () => resolve()));
  const url = `smtp://127.0.0.1:${(server.server.address() as AddressInfo).port}`;
  // Whoever hangs on is cut off: the dead do not say goodbye.
  const close = (): Promise<void> => new Promise((resolve) => (server.close(() => resolve()), setTimeout(resolve, 500).unref()));
  return { url, close };
}
