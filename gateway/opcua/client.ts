/**
 * One OPC UA client per server, and the gateway's certificate store. Strict: an unknown server certificate is refused until a person
 * trusts it; no security only where the site file asks for it.
 */
import {
  MessageSecurityMode,
  OPCUACertificateManager,
  OPCUAClient,
  SecurityPolicy,
  setDebugLogger,
  setErrorLogger,
  setWarningLogger,
} from 'node-opcua';
import type { SiteFile } from '../../src/config.ts';
import { boundRejected, certificateFacts, ownCertificate } from './certificate-store.ts';
import type { CertificateFacts } from './certificate-store.ts';
import { guardPassword } from './identity.ts';

export type ServerPart = SiteFile['servers'][number];

const APPLICATION = 'Glowfleet';
export const SESSION_TIMEOUT_MS = 60_000;
const KEEP_ALIVE_MS = 5000;
const TRANSPORT_TIMEOUT_MS = 8000;

/** The library speaks in many-line warnings; what matters is said by us. */
export function silenceLibrary(): void {
  const nothing = (): void => {};
  setWarningLogger(nothing);
  setErrorLogger(nothing);
  setDebugLogger(nothing);
}

/**
 * Read anew for each attempt to connect: a store that follows its folder by file events misses a certificate that is moved to trusted
 * right after it was rejected (seen with node-opcua 2.186), and a person's trust must count at the next attempt.
 */
export async function openCertificates(pkiFolder: string): Promise<Certificates> {
  boundRejected(pkiFolder);
  const certificates = new Certificates({
    rootFolder: pkiFolder,
    automaticallyAcceptUnknownCertificate: false,
    disableFileWatchers: true,
  });
  await certificates.initialize();
  return certificates;
}

/** The store of one attempt to connect; remembers which certificate it was shown, accepted or not. */
export class Certificates extends OPCUACertificateManager {
  #shown: CertificateFacts | null = null;

  get shown(): CertificateFacts | null {
    return this.#shown;
  }

  override async verifyCertificate(...shown: Parameters<OPCUACertificateManager['verifyCertificate']>) {
    this.#shown = certificateFacts(shown[0] as Buffer);
    return super.verifyCertificate(...shown);
  }
}

/** Our own certificate, made at the first start. */
export async function ensureOwnCertificate(pkiFolder: string): Promise<CertificateFacts | null> {
  const certificates = await openCertificates(pkiFolder);
  const client = OPCUAClient.create({ applicationName: APPLICATION, clientCertificateManager: certificates });
  try {
    await client.createDefaultCertificate();
  } finally {
    await client.disconnect();
    await certificates.dispose();
  }
  return ownCertificate(pkiFolder);
}

export const ownThumbprint = (pkiFolder: string): string => ownCertificate(pkiFolder)?.thumbprint ?? '';

const MODES = { none: MessageSecurityMode.None, sign: MessageSecurityMode.Sign, 'sign-and-encrypt': MessageSecurityMode.SignAndEncrypt };

/** The first connect is tried once by the library and again by us; after that it heals broken connections by itself. */
export function createClient(server: ServerPart, certificates: OPCUACertificateManager): OPCUAClient {
  const client = OPCUAClient.create({
    applicationName: APPLICATION,
    clientName: `Glowfleet ${server.name}`,
    clientCertificateManager: certificates,
    securityMode: MODES[server.security],
    securityPolicy: server.security === 'none' ? SecurityPolicy.None : SecurityPolicy[server.policy],
    endpointMustExist: false,
    keepSessionAlive: true,
    keepAliveInterval: KEEP_ALIVE_MS,
    transportTimeout: TRANSPORT_TIMEOUT_MS,
    requestedSessionTimeout: SESSION_TIMEOUT_MS,
    connectionStrategy: { maxRetry: 1, initialDelay: 500, maxDelay: 5000, randomisationFactor: 0.3 },
  });
  guardPassword(client, server, certificates);
  return client;
}
