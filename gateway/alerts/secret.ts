/**
 * Secrets, read from where the site file says they stand: a file or the environment. Read anew for each message, so that a secret is changed
 * without a restart. Two may hold at once: while the receiver changes over, a message carries a signature of each.
 */
import { createHmac } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { Fault } from '../../src/fault.ts';

/** A secret never stands in the site file itself. */
export type SecretPlace = { readonly file: string } | { readonly env: string };

const LONGEST = 4096;

/** Fails `unreadable` with the cure: a message is never sent without the signature that was asked for. */
export async function readSecrets(
  places: readonly SecretPlace[],
  environment: NodeJS.ProcessEnv = process.env,
): Promise<readonly string[]> {
  return Promise.all(places.map((place) => readSecret(place, environment)));
}

export async function readSecret(place: SecretPlace, environment: NodeJS.ProcessEnv = process.env): Promise<string> {
  const secret = 'env' in place ? environment[place.env] : (await textOf(place.file)).trim();
  if (secret === undefined || secret === '' || secret.length > LONGEST)
    throw new Fault(
      'unreadable',
      'env' in place ? `The environment has no secret ${place.env}.` : `The file ${place.file} holds no secret.`,
    );
  return secret;
}

async function textOf(file: string): Promise<string> {
  return readFile(file, 'utf8').catch((error: unknown) => {
    throw new Fault('unreadable', `The secret in ${file} cannot be read (${(error as NodeJS.ErrnoException).code ?? 'unknown'}).`, error);
  });
}

/** Standard Webhooks: one signature per secret, parted by a space, each `v1,` and base64 HMAC-SHA256 of "id.timestamp.body". */
export function signatures(secrets: readonly string[], signed: string): string {
  return secrets.map((secret) => `v1,${createHmac('sha256', keyOf(secret)).update(signed).digest('base64')}`).join(' ');
}

/** `whsec_` and base64 is how that specification writes a key; any other text is the key itself. */
const keyOf = (secret: string): string | Buffer =>
  secret.startsWith('whsec_') ? Buffer.from(secret.slice('whsec_'.length), 'base64') : secret;
