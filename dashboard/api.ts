/** What the pages ask the gateway for. Every answer passes its schema here, once; every failure becomes a sentence with the next thing to do. */
import * as z from 'zod/mini';
import { chamberDetail, health, problem, reasonChoice, reasonRow, serverLine, stopsPage, trace, weekLine } from '../src/contract.ts';
import type {
  ChamberDetail,
  enterReason as EnterReason,
  Health,
  ReasonChoice,
  ReasonRow,
  StopsPage,
  ServerLine,
  Trace,
} from '../src/contract.ts';
import { weekPage, type WeekPage } from '../src/numbers.ts';

const weekLines = z.array(weekLine);
const serverLines = z.array(serverLine);
const reasonRows = z.array(reasonRow);
const reasonChoices = z.array(reasonChoice);

const EIGHT_DAYS_MS = 8 * 86_400_000;

type TraceSpan = { readonly from: number; readonly to: number; readonly signals: readonly string[] };

export const fetchChamber = (chamber: string): Promise<ChamberDetail> => get(`/api/chambers/${encodeURIComponent(chamber)}`, chamberDetail);

export const fetchTrace = (chamber: string, { from, to, signals }: TraceSpan): Promise<Trace> =>
  get(
    `/api/chambers/${encodeURIComponent(chamber)}/trace?${new URLSearchParams({ from: String(from), to: String(to), signals: signals.join(',') })}`,
    trace,
  );

export const fetchServers = (): Promise<ServerLine[]> => get('/api/servers', serverLines);

/** Not ready is an answer too, not a failure. */
export const fetchHealth = (): Promise<Health> => get('/health/ready', health, [503]);

/** The newest week that holds facts, or null before there is any. */
export async function fetchNewestWeek(): Promise<string | null> {
  return (await get('/api/weeks', weekLines))[0]?.week ?? null;
}

export const fetchWeek = (week: string): Promise<WeekPage> => get(`/api/weeks/${encodeURIComponent(week)}`, weekPage);

/** The reasons that this site has. */
export const fetchReasonList = (): Promise<ReasonChoice[]> => get('/api/reason-list', reasonChoices);

export type StopsWindow = 'today' | 'week' | '8 days';
type Query = Readonly<Record<string, string>>;

export const stopsQuery = (window: StopsWindow, now: number): Query =>
  window === '8 days' ? { from: String(Math.floor(now) - EIGHT_DAYS_MS), to: String(Math.floor(now)) } : { window };

/** What persons told of a window and nobody took back, the one entered last first. */
export const fetchReasons = async (query: Query): Promise<ReasonRow[]> =>
  (await get(`/api/reasons?${new URLSearchParams(query)}`, reasonRows)).filter(({ withdrawnAt }) => withdrawnAt === null);

export const fetchStops = (query: Query): Promise<StopsPage> => get(`/api/stops?${new URLSearchParams(query)}`, stopsPage);

export const enterReason = (chamber: string, entry: z.input<typeof EnterReason>): Promise<ReasonRow> =>
  act(`/api/chambers/${encodeURIComponent(chamber)}/reasons`, entry);

export const withdrawReason = (entry: string, by: string): Promise<ReasonRow> =>
  act(`/api/reasons/${encodeURIComponent(entry)}/withdraw`, { by });

async function act(path: string, body: unknown): Promise<ReasonRow> {
  const read = reasonRow.safeParse(await (await post(path, body)).json());
  if (!read.success)
    throw new Error('The gateway answered in a form this page does not know: reload the page; if this stays, versions differ.');
  return read.data;
}

export async function post(path: string, body: unknown): Promise<Response> {
  const headers = { 'content-type': 'application/json', 'x-glowfleet': '1' };
  const response = await ask(path, { method: 'POST', headers, body: JSON.stringify(body) });
  if (!response.ok) throw new Error(await refusal(response));
  return response;
}

export async function get<S extends z.ZodMiniType>(path: string, schema: S, alsoGood: readonly number[] = []): Promise<z.output<S>> {
  return (await read(path, schema, alsoGood)).data;
}

type Answer<S extends z.ZodMiniType> = { readonly data: z.output<S>; readonly headers: Headers };

export async function read<S extends z.ZodMiniType>(path: string, schema: S, alsoGood: readonly number[] = []): Promise<Answer<S>> {
  const response = await ask(path, { headers: { accept: 'application/json' } });
  if (!response.ok && !alsoGood.includes(response.status)) throw new Error(await refusal(response));
  const body = schema.safeParse(await response.json());
  if (!body.success)
    throw new Error('The gateway answered in a form this page does not know: reload the page; if this stays, versions differ.');
  return { data: body.data, headers: response.headers };
}

async function ask(path: string, init: RequestInit): Promise<Response> {
  try {
    return await fetch(path, init);
  } catch (cause) {
    throw new Error('The gateway does not answer. Check that it runs and that this screen is on its network.', { cause });
  }
}

async function refusal(response: Response): Promise<string> {
  const read = problem.safeParse(await response.json().catch(() => null));
  return read.success ? read.data.message : `The gateway refused (${response.status}).`;
}
