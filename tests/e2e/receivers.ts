/** Where alerts arrive: a webhook receiver and a mail server on free ports of this machine, keeping all they were given. */
import { once } from 'node:events';
import { createServer, type IncomingHttpHeaders } from 'node:http';
import type { AddressInfo } from 'node:net';
import { SMTPServer } from 'smtp-server';
import type { Alert, Delivery } from '../../src/contract.ts';

export type Post = {
  readonly method: string;
  readonly headers: IncomingHttpHeaders;
  readonly body: { readonly stage: Delivery['stage']; readonly subject: string; readonly text: string; readonly alert: Alert | null };
};

export type WebhookReceiver = { readonly url: string; readonly posts: readonly Post[]; close(): Promise<void> };

export async function startWebhookReceiver(): Promise<WebhookReceiver> {
  const posts: Post[] = [];
  const server = createServer((request, response) => {
    let text = '';
    request.setEncoding('utf8');
    request.on('data', (piece: string) => (text += piece));
    request.on('end', () => {
      posts.push({ method: request.method ?? '', headers: request.headers, body: JSON.parse(text) as Post['body'] });
      response.writeHead(204).end();
    });
  });
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  return {
    url: `http://127.0.0.1:${(server.address() as AddressInfo).port}/alerts`,
    posts,
    close: async () => {
      server.closeAllConnections();
      server.close();
      await once(server, 'close');
    },
  };
}

/** Raw messages as RFC 5322 text. */
export type MailServer = { readonly url: string; readonly mails: readonly string[]; close(): Promise<void> };

export async function startMailServer(): Promise<MailServer> {
  const mails: string[] = [];
  const server = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS', 'AUTH'],
    onData: (stream, _session, done) => {
      let text = '';
      stream.on('data', (piece: Buffer) => (text += piece.toString('utf8')));
      stream.on('end', () => {
        mails.push(text);
        done();
      });
    },
  });
  server.listen(0, '127.0.0.1');
  await once(server.server, 'listening');
  const { port } = server.server.address() as AddressInfo;
  return {
    url: `smtp://127.0.0.1:${port}`,
    mails,
    close: () => new Promise((resolve) => server.close(() => resolve())),
  };
}

/** The value of a header, continuation lines joined (RFC 5322 2.2.3). */
export const mailHeader = (mail: string, name: string): string =>
  new RegExp(`^${name}: (.*)$`, 'im').exec(mail.replaceAll(/\r\n[ \t]+/g, ' '))?.[1]?.trim() ?? '';

/** The body's lines without the soft breaks of quoted-printable (RFC 2045 6.7); enough to look for a text in them. */
export const mailText = (mail: string): string =>
  mail.replaceAll(/=\r\n/g, '').replaceAll(/=([0-9A-F]{2})/g, (_, hex: string) => String.fromCharCode(parseInt(hex, 16)));
