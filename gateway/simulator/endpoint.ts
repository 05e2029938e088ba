/**
 * One simulated OPC UA server: the chambers that share it, behind their own link proxy. It may be shut down and started again any number of
 * times: the values come back from the process image, and the plant's namespace gets another index, as real servers do.
 */
import { type BaseNode, MessageSecurityMode, type OPCUACertificateManager, OPCUAServer, SecurityPolicy } from 'node-opcua';
import { type ChamberNodes, chamberNodes, type PastOf, plantNamespace } from './address-space.ts';
import { type Archive, archive } from './archive.ts';
import { type ConditionNodes, conditionNodes } from './conditions.ts';
import type { SimulatedChamber } from './plant-port.ts';
import type { ProcessImage } from './process-image.ts';
import { LinkProxy } from './proxy.ts';

const LOOPBACK = '127.0.0.1';
const SERVER_STATUS = 'i=2256'; // Server_ServerStatus, OPC 10000-6 annex A

export type EndpointOptions = {
  readonly name: string;
  /** All chambers of the plant; this server carries those that name it. */
  readonly chambers: readonly SimulatedChamber[];
  readonly image: ProcessImage;
  readonly port: number;
  readonly certificates: OPCUACertificateManager;
  /** Its controllers keep their past and serve it as history. */
  readonly keepsHistory: boolean;
};

type Nodes = { readonly tags: ChamberNodes; readonly conditions: ConditionNodes };

export class Endpoint {
  readonly #options: EndpointOptions;
  readonly #proxy = new LinkProxy();
  #server: OPCUAServer | null = null;
  #nodes = new Map<number, Nodes>();
  readonly #archive: Archive | null;
  #starts = 0;
  #isOpen = false;
  /** Restarts and stop come one after another. */
  #turn: Promise<void> = Promise.resolve();
  url = '';

  constructor(options: EndpointOptions) {
    this.#options = options;
    this.#archive = options.keepsHistory ? archive() : null;
  }

  /** Takes the port and builds the server; refuses everybody until `open`. */
  async start(): Promise<void> {
    const port = await this.#proxy.start(this.#options.port);
    this.url = `opc.tcp://${LOOPBACK}:${port}`;
    await this.#startServer();
  }

  /** Serves what the process image says now, and whatever it says from now on. */
  open(): void {
    this.#isOpen = true;
    this.#serveImage();
    this.link();
  }

  async stop(): Promise<void> {
    const last = this.#turn.then(() => this.#stopServer());
    await this.#proxy.stop();
    await last;
  }

  tag(chamber: number, tag: number): void {
    const last = this.#options.image.valueOf(chamber, tag);
    if (last === null) return;
    this.#archive?.add(chamber, tag, last);
    this.#nodes.get(chamber)?.tags.set(tag, last);
  }

  condition(chamber: number, condition: number): void {
    const last = this.#options.image.conditionOf(chamber, condition);
    if (last !== null) this.#nodes.get(chamber)?.conditions.set(condition, last);
  }

  link(): void {
    const reachable = this.#isOpen && this.#server !== null;
    this.#proxy.set(reachable ? this.#options.image.linkOf(this.#options.name) : 'drop');
  }

  /** Kills every connection, then the server, and starts it again on the same public address. */
  restart(): Promise<void> {
    this.#proxy.set('drop');
    this.#turn = this.#turn.then(async () => {
      await this.#stopServer();
      await this.#startServer();
    });
    return this.#turn;
  }

  async #startServer(): Promise<void> {
    const server = new OPCUAServer(serverOptions(this.#options, this.url));
    await server.initialize();
    this.#populate(server, this.#starts++ % 2);
    await server.start();
    this.#server = server;
    this.#proxy.aim(server.endpoints[0]?.port ?? 0);
    this.link();
  }

  async #stopServer(): Promise<void> {
    const server = this.#server;
    this.#server = null;
    this.#nodes = new Map();
    if (server !== null) await server.shutdown(0);
  }

  #populate(server: OPCUAServer, shift: number): void {
    const addressSpace = server.engine.addressSpace;
    if (addressSpace === null) throw new Error(`server ${this.#options.name} has no address space after initialize`);
    addressSpace.installAlarmsAndConditionsService();
    const namespace = plantNamespace(addressSpace, shift);
    const hall = namespace.addFolder(addressSpace.rootFolder.objects, { browseName: 'Hall 3', nodeId: 's=Hall 3' });
    this.#options.chambers.forEach((chamber, index) => {
      if (chamber.server !== this.#options.name) return;
      const kept = this.#archive;
      const past: PastOf | null = kept === null ? null : (tag, span) => kept.values(index, tag, span);
      const tags = chamberNodes(namespace, chamber, { hall, past });
      this.#nodes.set(index, { tags, conditions: conditionNodes(namespace, tags.object, chamber) });
    });
    this.#serveImage();
    this.#bindClock(addressSpace.findNode(SERVER_STATUS));
  }

  #serveImage(): void {
    for (const index of this.#nodes.keys()) {
      const chamber = this.#options.chambers[index];
      chamber?.tags.forEach((_, tag) => this.tag(index, tag));
      chamber?.conditions.forEach((_, condition) => this.condition(index, condition));
    }
  }

  /**
   * The server's own clock goes at the real pace, however fast the plant, and is off where the one controller behind it is off. The library
   * reads it from this structure.
   */
  #bindClock(node: BaseNode | null): void {
    const status = node as unknown as { $extensionObject: Record<string | symbol, unknown> };
    const currentTime = (): Date => new Date(Date.now() + this.#clockOffsetMs());
    status.$extensionObject = new Proxy(status.$extensionObject, {
      get: (target, name) => (name === 'currentTime' && target[name] !== undefined ? currentTime() : target[name]),
    });
  }

  #clockOffsetMs(): number {
    const offsets = new Set([...this.#nodes.keys()].map((chamber) => this.#options.image.clockOffsetMs(chamber)));
    return offsets.size === 1 ? ([...offsets][0] as number) : 0;
  }
}

function serverOptions({ name, certificates }: EndpointOptions, url: string): ConstructorParameters<typeof OPCUAServer>[0] {
  certificates.referenceCounter += 2; // each server gives its two back at shutdown; the store itself is closed by its owner
  return {
    host: LOOPBACK,
    hostname: LOOPBACK,
    port: 0,
    advertisedEndpoints: url,
    serverCertificateManager: certificates,
    userCertificateManager: certificates,
    certificateFile: `${certificates.rootDir}/own/certs/${name}.pem`,
    securityPolicies: [SecurityPolicy.None, SecurityPolicy.Basic256Sha256],
    securityModes: [MessageSecurityMode.None, MessageSecurityMode.Sign, MessageSecurityMode.SignAndEncrypt],
    allowAnonymous: true,
    isAuditing: false,
    maxConnectionsPerEndpoint: 100,
    serverInfo: {
      applicationUri: `urn:quellmoor:hall-3:${name}`,
      productUri: 'urn:quellmoor:simulator',
      applicationName: { text: `Quellmoor Hall 3 ${name}` },
    },
    // 0: a change is never folded with the next one, so that a fast plant's every value reaches a client that asked for interval 0
    serverCapabilities: { minSupportedSampleRate: 0, maxSessions: 100, maxSubscriptionsPerSession: 20 },
  };
}
