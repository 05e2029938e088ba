/** A general-purpose OPC UA client for the tests: the library's own, with events as promises. */
import {
  AttributeIds,
  type ClientSubscription,
  ClientMonitoredItem,
  type DataValue,
  MessageSecurityMode,
  OPCUACertificateManager,
  OPCUAClient,
  type OPCUAClientOptions,
  SecurityPolicy,
  TimestampsToReturn,
  type ClientSession,
  ClientMonitoredItemGroup,
} from 'node-opcua';

export type TestClient = { readonly client: OPCUAClient; readonly session: ClientSession; close(): Promise<void> };

export async function connectTo(url: string, folder: string, options: { secure?: boolean; reconnect?: boolean } = {}): Promise<TestClient> {
  const certificates = new OPCUACertificateManager({ rootFolder: `${folder}/client-pki`, automaticallyAcceptUnknownCertificate: true });
  const settings: OPCUAClientOptions = {
    applicationName: 'test',
    clientCertificateManager: certificates,
    endpointMustExist: false,
    keepSessionAlive: false,
    connectionStrategy: { maxRetry: options.reconnect ? -1 : 0, initialDelay: 50, maxDelay: 100 },
    securityMode: options.secure ? MessageSecurityMode.SignAndEncrypt : MessageSecurityMode.None,
    securityPolicy: options.secure ? SecurityPolicy.Basic256Sha256 : SecurityPolicy.None,
    transportTimeout: 4000,
  };
  const client = OPCUAClient.create(settings);
  client.on('backoff', () => {});
  await client.connect(url);
  const session = await client.createSession();
  return {
    client,
    session,
    async close() {
      await session.close(true).catch(() => {});
      await client.disconnect().catch(() => {});
      await certificates.dispose();
    },
  };
}

export async function subscription(session: ClientSession): Promise<ClientSubscription> {
  return session.createSubscription2({
    requestedPublishingInterval: 50,
    requestedLifetimeCount: 1000,
    requestedMaxKeepAliveCount: 20,
    maxNotificationsPerPublish: 0,
    publishingEnabled: true,
    priority: 1,
  });
}

/** Every value of these nodes, as they come. */
export async function watch(
  session: ClientSession,
  nodeIds: readonly string[],
  each: (node: number, value: DataValue) => void,
): Promise<ClientSubscription> {
  const sub = await subscription(session);
  const group = ClientMonitoredItemGroup.create(
    sub,
    nodeIds.map((nodeId) => ({ nodeId, attributeId: AttributeIds.Value })),
    { samplingInterval: 0, queueSize: 1000, discardOldest: true },
    TimestampsToReturn.Both,
  );
  group.on('changed', (_item, value, index) => each(index, value));
  await new Promise<void>((resolve, reject) => {
    group.on('initialized', () => resolve());
    group.on('err', reject);
  });
  return sub;
}

export async function watchEvents(
  session: ClientSession,
  notifier: string,
  filter: object,
  each: (fields: readonly unknown[]) => void,
): Promise<ClientSubscription> {
  const sub = await subscription(session);
  const item = ClientMonitoredItem.create(
    sub,
    { nodeId: notifier, attributeId: AttributeIds.EventNotifier },
    { samplingInterval: 0, queueSize: 1000, discardOldest: true, filter: filter as never },
    TimestampsToReturn.Both,
  );
  item.on('changed', (fields) => each((fields as unknown as { value: unknown }[]).map((field) => field.value)));
  await new Promise<void>((resolve, reject) => {
    item.on('initialized', () => resolve());
    item.on('err', reject);
  });
  return sub;
}

/** Resolves when the claim holds; looked at whenever something may have happened, rejects after `withinMs`. */
export async function until(claim: () => boolean, withinMs = 8000): Promise<void> {
  const end = performance.now() + withinMs;
  while (!claim()) {
    if (performance.now() > end) throw new Error(`not so within ${withinMs} ms: ${claim.toString()}`);
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
}
