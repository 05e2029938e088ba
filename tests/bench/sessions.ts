/**
 * A server for every chamber: as many sessions as the machine carries, 30 tags at 1 Hz each, first a bare subscriber with as many sessions, then
 * the whole gateway at the same servers. One after the other: the servers cost more than either. A plant rarely has more than one chamber behind
 * a controller, so this is what a fleet really costs.
 */
import { setTimeout as wait } from 'node:timers/promises';
import type { ServerLine } from '../../src/contract.ts';
import { TAGS } from './bench-site.ts';
import { Rig, type Cost } from './rig.ts';

export type Sessions = {
  readonly sessions: number;
  readonly cost: Cost;
  /** After garbage was collected. */
  readonly keptBytes: { readonly gateway: number; readonly raw: number };
  /** Of the values a second that the chambers make. */
  readonly made: number;
  /** From the start of the program until every server was read. */
  readonly allLiveMs: number;
};

const WARM_UP_S = 10;
const WINDOW_S = 60;
const LONGEST_MS = 600_000;
/** 22 of the 30 tags change each second. */
const CHANGING = TAGS - 8;

export async function sessions(count: number): Promise<Sessions> {
  const rig = new Rig({ chambers: count, periodMs: 1000, apart: true });
  try {
    await rig.startServers();
    await rig.startRaw();
    await wait(WARM_UP_S * 1000);
    const raw = await rig.rawCost(WINDOW_S);
    const rawKept = await rig.rawKeptBytes();
    await rig.stopRaw();
    await rig.startGateway();
    await allLive(rig, count);
    const allLiveMs = Date.now() - rig.spawnedAt;
    await wait(WARM_UP_S * 1000);
    const gateway = await rig.gatewayCost(WINDOW_S);
    const keptBytes = { gateway: await rig.gatewayKeptBytes(), raw: rawKept };
    return { sessions: count, cost: { gateway, raw }, keptBytes, made: count * CHANGING, allLiveMs };
  } finally {
    await rig.stop();
  }
}

async function allLive(rig: Rig, count: number): Promise<void> {
  for (const end = Date.now() + LONGEST_MS; Date.now() < end; await wait(200)) {
    const lines = (await (await fetch(`${rig.url}/api/servers`)).json()) as readonly ServerLine[];
    if (lines.filter(({ state }) => state === 'live').length === count) return;
  }
  throw new Error(`not all of ${count} servers were read within ${LONGEST_MS / 1000} s`);
}
