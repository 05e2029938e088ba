/** The certificates that a plant's links hang on, as the gateway's health tells of them: whose, by which thumbprint, and when they end. */
import { cpSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { MessageSecurityMode, SecurityPolicy } from 'node-opcua';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { certificatesOn, ownCertificate, trust } from '../../gateway/opcua/certificate-store.ts';
import type { Health, ServerLine } from '../../src/contract.ts';
import { NAMESPACE, newFolder, startFixture } from './opcua/fixture-server.ts';
import { makeCertificate, offering } from './opcua/secure-fixture.ts';
import { startGateway } from './running.ts';

const undo: (() => unknown)[] = [];
let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'glowfleet certificates '));
  undo.push(() => rmSync(folder, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 }));
});
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
});

const site = (port: number, security: string, user = '') => `
site: { name: Quellmoor Works, hall: Hall 3, zone: Europe/Berlin }
servers: [{ name: amber, endpoint: 'opc.tcp://127.0.0.1:${port}', security: ${security}${user} }]
templates:
  small: { rfMaxW: 1000, basePressurePa: 5, gases: {}, tags: { chamber.pressure: { node: 'nsu=${NAMESPACE};s=Pressure', unit: Pa } } }
chambers: [{ id: PC-01, bay: Amber, floor: { column: 1, row: 1 }, server: amber, template: small, path: P }]
`;
const TAGS = [{ path: 'Pressure', type: 'Double', value: 5 }] as const;
const OFFER = { mode: MessageSecurityMode.SignAndEncrypt, policies: [SecurityPolicy.Basic256Sha256] };

test(
  'a first start says the thumbprint of our own certificate; an unknown server is refused with its own, and warned of when it ends soon',
  {
    timeout: 60_000,
  },
  async () => {
    // Real days: certificates know no plant time.
    const certificate = await makeCertificate(newFolder(), { uri: 'urn:quellmoor:amber', days: 12 });
    const server = await startFixture({ tags: TAGS, server: offering({ ...OFFER, certificate }) });
    undo.push(() => server.close());
    const running = await startGateway(folder, site(server.port, 'sign-and-encrypt'));
    undo.push(running.stop);
    const pki = join(folder, 'pki');
    const health = () => running.get<Health>('/health/ready');
    await expect.poll(async () => (await health()).own?.thumbprint, { timeout: 20_000 }).toMatch(/^[0-9A-F]{40}$/);
    expect((await health()).own?.thumbprint).toBe(ownCertificate(pki)?.thumbprint);
    expect(running.log.join('\n')).toMatch(
      new RegExp(`Our certificate has the thumbprint ${ownCertificate(pki)?.thumbprint} and is valid until`),
    );
    await expect
      .poll(async () => (await health()).problems.join('\n'), { timeout: 20_000 })
      .toMatch(/amber: The certificate of amber is not trusted yet/);
    const [shown] = certificatesOn(pki, 'rejected');
    expect((await health()).problems.join('\n')).toContain(shown?.thumbprint ?? 'none');
    expect((await health()).problems).toContain(
      'The certificate of amber expires in 11 days. Renew it at amber, then trust the new one here with glowfleet trust.',
    );
    trust(pki, shown?.thumbprint ?? '', Date.now());
    const state = async () => (await running.get<ServerLine[]>('/api/servers'))[0]?.state;
    await expect.poll(state, { timeout: 40_000 }).toBe('live');
    expect((await health()).problems).toEqual([
      'The certificate of amber expires in 11 days. Renew it at amber, then trust the new one here with glowfleet trust.',
    ]);
  },
);

test('our own certificate is warned of 30 days ahead, with what to do', { timeout: 60_000 }, async () => {
  const server = await startFixture({ tags: TAGS });
  undo.push(() => server.close());
  const pki = join(folder, 'pki');
  const { certificateFile } = await makeCertificate(pki, { uri: 'urn:glowfleet', days: 20 });
  mkdirSync(join(pki, 'own', 'certs'), { recursive: true });
  cpSync(certificateFile, join(pki, 'own', 'certs', 'client_certificate.pem'));
  rmSync(certificateFile);
  const running = await startGateway(folder, site(server.port, 'none'));
  undo.push(running.stop);
  await expect
    .poll(async () => (await running.get<Health>('/health/ready')).problems, { timeout: 20_000 })
    .toContain(
      'The certificate of this gateway expires in 19 days. Take own/certs/client_certificate.pem out of its pki folder, start again, and trust the new one at each server.',
    );
});

test('a server whose certificate has expired is refused in a sentence of both, the refusal and the end', { timeout: 60_000 }, async () => {
  const startDate = new Date(Date.now() - 20 * 86_400_000);
  const certificate = await makeCertificate(newFolder(), { uri: 'urn:quellmoor:amber', startDate, days: 10 });
  const server = await startFixture({ tags: TAGS, server: offering({ ...OFFER, certificate }) });
  undo.push(() => server.close());
  const running = await startGateway(folder, site(server.port, 'sign-and-encrypt'));
  undo.push(running.stop);
  const pki = join(folder, 'pki');
  await expect.poll(() => certificatesOn(pki, 'rejected').length, { timeout: 20_000 }).toBeGreaterThan(0);
  trust(pki, certificatesOn(pki, 'rejected')[0]?.thumbprint ?? '', Date.now());
  const said = async () => (await running.get<Health>('/health/ready')).problems.join('\n');
  await expect.poll(said, { timeout: 30_000 }).toMatch(/amber: The certificate of amber is out of its time .*Renew/);
  expect(await said()).toMatch(/The certificate of amber has expired\./);
});
