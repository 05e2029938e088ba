/** The process in which the gateway's own OPC UA server runs. Ends by itself when the gateway is gone. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { MessageSecurityMode, nodesets, OPCUACertificateManager, OPCUAServer, SecurityPolicy } from 'node-opcua';
import { certificateFacts } from './certificate-store.ts';
import { silenceLibrary } from './client.ts';
import { fleetNodes, type FleetNodes } from './serve-nodes.ts';
import type { ServeNews, ServeOrder } from './serve-port.ts';

const CLOSE_MS = 1500;

let server: OPCUAServer | null = null;
let nodes: FleetNodes | null = null;

const tell = (news: ServeNews): void => void (process.connected && process.send?.(news));

async function open({ setting, pkiFolder, site, version, chambers }: Extract<ServeOrder, { type: 'open' }>): Promise<void> {
  const certificates = new OPCUACertificateManager({
    rootFolder: pkiFolder,
    automaticallyAcceptUnknownCertificate: false,
    disableFileWatchers: true,
  });
  await certificates.initialize();
  const isSecure = setting.security !== 'none';
  const certificateFile = join(pkiFolder, 'own', 'certs', 'server_certificate.pem');
  const opened = new OPCUAServer({
    port: setting.port,
    host: setting.host,
    hostname: setting.host,
    nodeset_filename: [nodesets.standard, nodesets.di, nodesets.ia, nodesets.machinery],
    serverCertificateManager: certificates,
    userCertificateManager: certificates,
    certificateFile,
    securityModes: [isSecure ? MessageSecurityMode.SignAndEncrypt : MessageSecurityMode.None],
    securityPolicies: isSecure ? [SecurityPolicy.Basic256Sha256, SecurityPolicy.Aes256_Sha256_RsaPss] : [SecurityPolicy.None],
    allowAnonymous: true,
    isAuditing: false,
    maxConnectionsPerEndpoint: 20,
    serverInfo: { applicationUri: 'urn:glowfleet:server', productUri: 'urn:glowfleet', applicationName: { text: 'Glowfleet' } },
    buildInfo: { productName: 'Glowfleet', softwareVersion: version },
    serverCapabilities: { maxSessions: 20, maxSubscriptionsPerSession: 10 },
  });
  await opened.initialize();
  const space = opened.engine.addressSpace;
  if (space === null) throw new Error('no address space after initialize');
  nodes = fleetNodes(space, { site, chambers });
  await opened.start();
  server = opened;
  const thumbprint = isSecure ? (certificateFacts(readFileSync(certificateFile))?.thumbprint ?? '') : '';
  tell({ type: 'ready', endpoint: `opc.tcp://${setting.host}:${opened.endpoints[0]?.port ?? setting.port}`, thumbprint });
}

async function close(): Promise<void> {
  setTimeout(() => process.exit(0), CLOSE_MS);
  await server?.shutdown(0);
  process.exit(0);
}

function hear(order: ServeOrder): void {
  switch (order.type) {
    case 'open':
      return void open(order).catch((error: unknown) => {
        tell({ type: 'failed', message: error instanceof Error ? error.message : String(error) });
        setTimeout(() => process.exit(1), 100);
      });
    case 'tiles':
      return order.tiles.forEach((tile) => nodes?.tile(tile));
    case 'numbers':
      return order.numbers.forEach((numbers) => nodes?.numbers(numbers));
    case 'close':
      return void close();
  }
}

silenceLibrary();
process.on('message', hear);
process.on('disconnect', () => void close());
process.on('SIGTERM', () => void close());
// Ctrl-C reaches the whole process group; the gateway says when to close.
process.on('SIGINT', () => {});
