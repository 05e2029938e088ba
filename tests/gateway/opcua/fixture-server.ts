/**
 * A small OPC UA server of one invented controller, a TCP proxy in front of it that can cut, swallow and heal, and a recorder of every
 * service that a client asks for.
 */
import { once } from 'node:events';
import { connect, createServer } from 'node:net';
import type { Server, Socket } from 'node:net';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import {
  DataType,
  MessageSecurityMode,
  OPCUACertificateManager,
  OPCUAServer,
  PublishResponse,
  RepublishResponse,
  resolveNodeId,
  SecurityPolicy,
  setErrorLogger,
  setWarningLogger,
  StatusCodes,
  VariantArrayType,
} from 'node-opcua';
import type { Namespace, OPCUAServerOptions, StatusCode, UAObject, UAVariable } from 'node-opcua';

setWarningLogger(() => {});
setErrorLogger(() => {});

export const NAMESPACE = 'urn:quellmoor:plc';
export const nodeText = (path: string): string => `nsu=${NAMESPACE};s=${path}`;
export const newFolder = (): string => mkdtempSync(join(tmpdir(), 'link test '));

const SERVER_PKI = newFolder();

export type FixtureTag = { readonly path: string; readonly type: keyof typeof DataType; readonly value: unknown };
export type FixtureOptions = {
  readonly tags: readonly FixtureTag[];
  readonly port?: number;
  /** Namespaces registered before ours, so that our index moves. */
  readonly namespacesBefore?: number;
  readonly itemLimit?: number;
  readonly maxSessions?: number;
  /** Of its message buffers, as small controllers have them. */
  readonly bufferBytes?: number;
  readonly secure?: boolean;
  /** What is set differently in the library's server; secure-fixture.ts has such settings. */
  readonly server?: OPCUAServerOptions;
  /** After it is set up, before it listens. */
  readonly prepare?: (server: OPCUAServer) => void;
  /** Tags keep their past and serve it as history. */
  readonly history?: boolean;
  readonly conditions?: readonly string[];
  /** For a message that it does not have it answers with Good and an empty one, as some libraries do. */
  readonly emptyRepublish?: boolean;
  /** The start and end of a condition refresh reach the notifier too, as OPC 10000-9 5.5.7 wants; the library raises them at the Server object alone. */
  readonly refreshBrackets?: boolean;
};

export type Fixture = {
  readonly port: number;
  /** Names of the request types received. */
  readonly requests: string[];
  readonly calls: string[];
  set(path: string, value: unknown, at?: Date, status?: StatusCode): void;
  /** The tag is taken out of the address space. */
  remove(path: string): void;
  /** The tag says something of another type from now on, as after a download. */
  retype(path: string, type: keyof typeof DataType, value: unknown): void;
  raise(name: string, active: boolean): void;
  shelve(name: string, shelved: boolean): void;
  acknowledge(name: string): void;
  /** The next message with values is lost on the way: a keep-alive comes in its place. `forgotten`: nor does the server keep it. */
  loseMessage(forgotten: boolean): void;
  /** Publish requests that lie at the server, of all sessions. */
  pendingPublishes(): number;
  close(): Promise<void>;
};

export async function startFixture(options: FixtureOptions): Promise<Fixture> {
  const certificates = new OPCUACertificateManager({ rootFolder: SERVER_PKI, automaticallyAcceptUnknownCertificate: true });
  const server = new OPCUAServer({
    port: options.port ?? 0,
    host: '127.0.0.1',
    serverCertificateManager: certificates,
    userCertificateManager: certificates,
    securityModes: options.secure ? [MessageSecurityMode.SignAndEncrypt] : [MessageSecurityMode.None],
    securityPolicies: options.secure ? [SecurityPolicy.Basic256Sha256] : [SecurityPolicy.None],
    buildInfo: { productName: 'fixture' },
    ...(options.bufferBytes === undefined
      ? {}
      : {
          transportSettings: {
            adjustTransportLimits: (asked) => ({ ...asked, receiveBufferSize: options.bufferBytes!, sendBufferSize: options.bufferBytes! }),
          },
        }),
    serverCapabilities: {
      minSupportedSampleRate: 0,
      ...(options.maxSessions === undefined ? {} : { maxSessions: options.maxSessions }),
      operationLimits: { maxMonitoredItemsPerCall: options.itemLimit ?? 0, maxNodesPerRead: options.itemLimit ?? 0 },
    },
    ...(options.secure ? { disableDiscovery: false } : {}),
    ...options.server,
  });
  await server.initialize();
  const space = server.engine.addressSpace;
  if (!space) throw new Error('no address space');
  space.installAlarmsAndConditionsService();
  for (let i = 0; i < (options.namespacesBefore ?? 0); i++) space.registerNamespace(`urn:quellmoor:extra-${i}`);
  const namespace = space.registerNamespace(NAMESPACE);
  const chamber = namespace.addObject({
    browseName: 'Chamber',
    nodeId: 's=Chamber',
    organizedBy: space.rootFolder.objects,
    eventSourceOf: space.rootFolder.objects.server,
    eventNotifier: 1,
  });
  if (options.refreshBrackets) passBrackets(space.rootFolder.objects.server, chamber);
  const variables = new Map(options.tags.map((tag) => [tag.path, { variable: addTag(namespace, chamber, tag), type: tag.type }]));
  if (options.history) for (const { variable } of variables.values()) space.installHistoricalDataNode(variable, { maxOnlineValues: 5000 });
  const alarms = new Map((options.conditions ?? []).map((name) => [name, addAlarm(namespace, chamber, name)]));
  const requests: string[] = [];
  const calls: string[] = [];
  server.on('request', (request: { schema: { name: string }; methodsToCall?: { methodId: { toString(): string } }[] | null }) => {
    requests.push(request.schema.name);
    for (const { methodId } of request.methodsToCall ?? []) calls.push(methodId.toString());
  });
  if (options.emptyRepublish) answerEmpty(server);
  options.prepare?.(server);
  await server.start();
  return {
    port: server.endpoints[0]?.port ?? 0,
    requests,
    calls,
    set: (path, value, at = new Date(), status = StatusCodes.Good) => {
      const found = variables.get(path) as { variable: UAVariable; type: keyof typeof DataType };
      found.variable.setValueFromSource(variant(found.type, value), status, at);
    },
    remove: (path) => space.deleteNode((variables.get(path) as { variable: UAVariable }).variable),
    retype: (path, type, value) => {
      const { variable } = variables.get(path) as { variable: UAVariable };
      variable.dataType = resolveNodeId(DataType[type]);
      variables.set(path, { variable, type });
      (variable as unknown as { _basicDataType?: unknown })._basicDataType = undefined;
      variable.setValueFromSource(variant(type, value), StatusCodes.Good, new Date());
    },
    raise: (name, active) => raise(alarms.get(name) as Alarm, active),
    shelve: (name, shelved) => shelve(alarms.get(name) as Alarm, shelved),
    acknowledge: (name) => acknowledge(alarms.get(name) as Alarm),
    loseMessage: (forgotten) => {
      for (const engine of publishEngines(server)) loseNext(engine, forgotten);
    },
    pendingPublishes: () => publishEngines(server).reduce((sum, { pendingPublishRequestCount }) => sum + pendingPublishRequestCount, 0),
    close: () => server.shutdown(100),
  };
}

type PublishEngine = {
  readonly pendingPublishRequestCount: number;
  _send_response: (subscription: { _sent_notification_messages: unknown[] }, response: PublishResponse) => void;
};

function publishEngines(server: OPCUAServer): readonly PublishEngine[] {
  const { _sessions: sessions } = server.engine as unknown as { _sessions: Record<string, { publishEngine: PublishEngine }> };
  return Object.values(sessions).map(({ publishEngine }) => publishEngine);
}

function loseNext(engine: PublishEngine, forgotten: boolean): void {
  const send = engine._send_response;
  engine._send_response = (subscription, response) => {
    const { sequenceNumber, notificationData } = response.notificationMessage;
    if (notificationData?.length === 0) return send.call(engine, subscription, response);
    engine._send_response = send;
    if (forgotten) subscription._sent_notification_messages.pop();
    const keepAlive = new PublishResponse({
      subscriptionId: response.subscriptionId,
      notificationMessage: { sequenceNumber: sequenceNumber + 1, notificationData: [], publishTime: new Date() },
    });
    send.call(engine, subscription, keepAlive);
  };
}

function answerEmpty(server: OPCUAServer): void {
  type Handler = (message: { request: { requestHeader: { requestHandle: number } } }, channel: Channel) => void;
  type Channel = { send_response(type: string, response: unknown, message: unknown): void };
  (server as unknown as { _on_RepublishRequest: Handler })._on_RepublishRequest = (message, channel) => {
    const response = new RepublishResponse({ notificationMessage: { sequenceNumber: 0, notificationData: [] } });
    channel.send_response('MSG', response, message);
  };
}

function passBrackets(server: UAObject, chamber: UAObject): void {
  server.on('event', (event) => {
    if (/^ns=0;i=278[78]$/.test(String((event as unknown as { eventType?: { value: unknown } }).eventType?.value)))
      chamber.emit('event', event);
  });
}

function addTag(namespace: Namespace, parent: UAObject, { path, type, value }: FixtureTag): UAVariable {
  const variable = namespace.addVariable({
    browseName: path,
    nodeId: `s=${path}`,
    componentOf: parent,
    dataType: type,
    minimumSamplingInterval: 0,
  });
  variable.setValueFromSource(variant(type, value), StatusCodes.Good, new Date());
  return variable;
}

const variant = (type: keyof typeof DataType, value: unknown) => ({ dataType: DataType[type], arrayType: VariantArrayType.Scalar, value });

type Alarm = { alarm: ReturnType<Namespace['instantiateOffNormalAlarm']>; input: UAVariable };

function addAlarm(namespace: Namespace, source: UAObject, name: string): Alarm {
  const input = namespace.addVariable({ browseName: `${name}.in`, componentOf: source, dataType: 'Boolean' });
  const normal = namespace.addVariable({ browseName: `${name}.normal`, componentOf: source, dataType: 'Boolean' });
  input.setValueFromSource({ dataType: DataType.Boolean, value: false });
  normal.setValueFromSource({ dataType: DataType.Boolean, value: false });
  const alarm = namespace.instantiateOffNormalAlarm({
    browseName: name,
    conditionName: name,
    componentOf: source,
    conditionSource: source,
    inputNode: input,
    normalState: normal,
  });
  return { alarm, input };
}

function raise({ alarm, input }: Alarm, active: boolean): void {
  input.setValueFromSource({ dataType: DataType.Boolean, value: active }, StatusCodes.Good, new Date());
  if (active !== alarm.activeState.getValue()) {
    if (active) alarm.activateAlarm();
    else alarm.deactivateAlarm();
    if (active) alarm.currentBranch().setAckedState(false);
    alarm.raiseNewCondition({ message: active ? 'on' : 'off', severity: 500, retain: active, quality: StatusCodes.Good });
  }
}

function shelve({ alarm }: Alarm, shelved: boolean): void {
  alarm.suppressedOrShelved.setValueFromSource({ dataType: DataType.Boolean, value: shelved });
  alarm.raiseNewCondition({ message: 'shelving', severity: 500, quality: StatusCodes.Good });
}

function acknowledge({ alarm }: Alarm): void {
  alarm.currentBranch().setAckedState(true);
  alarm.raiseNewCondition({ message: 'acknowledged', severity: 500, quality: StatusCodes.Good });
}

export type Proxy = {
  readonly port: number;
  /** Drops all connections and refuses new ones. */
  cut(): void;
  /** Keeps connections but lets nothing through. */
  swallow(): void;
  /** Half-open: the present connections are dead without a word, new ones go through. */
  strand(): void;
  heal(): void;
  close(): Promise<void>;
};

/** `delayMs` each way. */
export async function startProxy(target: () => number, delayMs = 0): Promise<Proxy> {
  const sockets = new Set<Socket>();
  let mode: 'pass' | 'cut' | 'swallow' = 'pass';
  const server: Server = createServer((inner) => {
    if (mode === 'cut') return void inner.destroy();
    const outer = connect(target(), '127.0.0.1');
    for (const socket of [inner, outer]) {
      sockets.add(socket);
      socket.on('error', () => socket.destroy());
      socket.on('close', () => (sockets.delete(socket), inner.destroy(), outer.destroy()));
    }
    const pass = (to: Socket, bytes: Buffer): void =>
      void (delayMs === 0 ? to.write(bytes) : setTimeout(() => void to.write(bytes), delayMs));
    inner.on('data', (bytes) => pass(outer, bytes));
    outer.on('data', (bytes) => pass(inner, bytes));
    if (mode === 'swallow') for (const socket of [inner, outer]) socket.pause();
  });
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  const address = server.address();
  return {
    port: typeof address === 'object' && address ? address.port : 0,
    cut: () => {
      mode = 'cut';
      for (const socket of sockets) socket.destroy();
    },
    swallow: () => {
      mode = 'swallow';
      for (const socket of sockets) socket.pause();
    },
    strand: () => {
      for (const socket of sockets) socket.pause();
    },
    heal: () => {
      mode = 'pass';
      for (const socket of sockets) socket.resume();
    },
    close: async () => {
      for (const socket of sockets) socket.destroy();
      server.close();
      await once(server, 'close');
    },
  };
}
