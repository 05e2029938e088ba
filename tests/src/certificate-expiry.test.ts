import { expect, test } from 'vitest';
import { expirySentence } from '../../src/certificate-expiry.ts';

const DAY = 86_400_000;
const END = Date.UTC(2026, 11, 24);
const told = (whose: 'own' | 'server' | 'user', left: number): string | null =>
  expirySentence({ whose, server: 'plc-1', validTo: END }, END - left);

test('[CE1] a certificate is told from 30 days ahead, with the days left and whose it is', () => {
  expect(told('server', 30 * DAY + 1)).toBeNull();
  expect(told('server', 30 * DAY)).toMatch(/^The certificate of plc-1 expires in 30 days\. Renew it at plc-1/);
  expect(told('user', DAY / 2)).toMatch(/^The user certificate for plc-1 expires in 1 day\. Put a new one/);
  expect(told('own', 5 * DAY)).toMatch(/^The certificate of this gateway expires in 5 days\. Take .* trust the new one at each server\.$/);
});

test('[CE2] one whose end is reached has expired', () => {
  expect(told('own', 0)).toMatch(/gateway has expired\./);
  expect(told('server', -DAY)).toMatch(/plc-1 has expired\. Renew/);
  expect(told('server', 1)).toMatch(/expires in 1 day/);
});
