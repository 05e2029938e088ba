/** A person's decision about certificates, on a store with real ones. */
import { copyFileSync, mkdirSync, utimesSync, writeFileSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { commandOf } from '../../gateway/command-line.ts';
import { boundRejected, certificatesOn } from '../../gateway/opcua/certificate-store.ts';
import { trustAnswer, type TrustCommand } from '../../gateway/trust-command.ts';
import { newFolder } from './opcua/fixture-server.ts';
import { makeCertificate } from './opcua/secure-fixture.ts';

const DAY_MS = 86_400_000;
const command = (...args: string[]): TrustCommand => commandOf(['trust', '--data', 'd', ...args]) as TrustCommand;

async function refusedOne(): Promise<{ pki: string; thumbprint: string }> {
  const pki = newFolder();
  mkdirSync(join(pki, 'rejected'));
  const { certificateFile } = await makeCertificate(newFolder(), { uri: 'urn:quellmoor:press', days: 20 });
  copyFileSync(certificateFile, join(pki, 'rejected', 'x.pem'));
  return { pki, thumbprint: certificatesOn(pki, 'rejected')[0]?.thumbprint ?? '' };
}

test('lists what was refused, trusts it by the beginning of its thumbprint, and forgets it again', async () => {
  const { pki, thumbprint } = await refusedOne();
  const now = Date.now();
  expect(trustAnswer(command(), pki, now)).toMatch(
    new RegExp(`Refused, newest first:\\n  ${thumbprint}  valid .*\\n .*Press line.*urn:quellmoor:press, seen `),
  );
  expect(trustAnswer(command(), pki, now + 30 * DAY_MS)).toContain(', EXPIRED');
  const colons = thumbprint
    .slice(0, 8)
    .toLowerCase()
    .replace(/(..)(?=.)/g, '$1:');
  expect(trustAnswer(command(colons), pki, now)).toMatch(/ is trusted\./);
  expect([certificatesOn(pki, 'rejected').length, certificatesOn(pki, 'trusted').length]).toEqual([0, 1]);
  expect(trustAnswer(command('--forget', thumbprint), pki, now)).toMatch(/not trusted any more/);
  expect([certificatesOn(pki, 'rejected').length, certificatesOn(pki, 'trusted').length]).toEqual([1, 0]);
  expect(readFileSync(join(pki, 'trust.log'), 'utf8').split('\n')).toHaveLength(3);
});

test.each([
  ['1234567', /at least its first 8; "1234567" is none/],
  ['00000000', /No refused certificate has a thumbprint that begins with 00000000/],
])('the thumbprint %s is one sentence', async (digits, sentence) => {
  const { pki } = await refusedOne();
  expect(() => trustAnswer(command(digits), pki, 0)).toThrow(sentence);
});

test('a server that shows a new certificate each time does not fill the disk; the newest stay', () => {
  const pki = newFolder();
  mkdirSync(join(pki, 'rejected'));
  for (let i = 0; i < 60; i++) {
    const file = join(pki, 'rejected', `${i}.pem`);
    writeFileSync(file, 'x');
    utimesSync(file, i, i);
  }
  boundRejected(pki);
  const left = readdirSync(join(pki, 'rejected'));
  expect([left.length, left.includes('59.pem'), left.includes('9.pem')]).toEqual([50, true, false]);
  writeFileSync(join(pki, 'rejected', 'huge.pem'), Buffer.alloc(3_000_000));
  boundRejected(pki);
  expect(readdirSync(join(pki, 'rejected'))).toHaveLength(49);
  expect(readdirSync(join(pki, 'rejected'))).not.toContain('huge.pem');
});
