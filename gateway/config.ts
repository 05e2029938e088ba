/**
 * Reads a site file: YAML, strict, every fault at once with its line, the value seen and what is allowed. A wrong file never starts.
 * The shape is src/config.ts; what one part says about another (a server that is not there, two chambers on one spot) is src/site-check.ts.
 */
import { readFile } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';
import { LineCounter, parseDocument, isMap, isNode, isScalar, type Document } from 'yaml';
import type * as z from 'zod';
import { siteFile, type SiteFile } from '../src/config.ts';
import { Fault } from '../src/fault.ts';
import { siteFaults } from '../src/site-check.ts';
import { withSecretPlaces } from './route-places.ts';

type Path = readonly PropertyKey[];
type ServerUser = SiteFile['servers'][number]['user'];
type SiteFault = { readonly path: Path; readonly text: string };

/** The file, checked. Throws one Fault `invalid` whose message has a line per fault; `unreadable` when there is no such file. */
export async function readSite(file: string, endpoints: ReadonlyMap<string, string> = new Map()): Promise<SiteFile> {
  return parseSite(file, await siteText(file), endpoints);
}

/** What is written in it. */
export async function siteText(file: string): Promise<string> {
  return readFile(file, 'utf8').catch((error: unknown) => {
    const why = error instanceof Error && 'code' in error ? String(error.code) : String(error);
    throw new Fault('unreadable', `The site file ${file} cannot be read (${why}). Name an existing file with --site.`, error);
  });
}

/** `endpoints` replaces the endpoint of servers by name, before any check. */
export function parseSite(file: string, text: string, endpoints: ReadonlyMap<string, string> = new Map()): SiteFile {
  const lines = new LineCounter();
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false });
  if (document.errors.length > 0) {
    throw refused(document.errors.map((e) => ({ line: lines.linePos(e.pos[0]).line, text: `not YAML: ${e.message}` })).map(lineText(file)));
  }
  const raw = plainValue(file, document);
  const faults: SiteFault[] = [...replaceEndpoints(raw, endpoints), ...illFormed(raw, [])];
  const parsed = siteFile.safeParse(raw);
  if (parsed.success) faults.push(...siteFaults(parsed.data));
  else faults.push(...parsed.error.issues.flatMap((issue) => issueFaults(issue, raw)));
  if (faults.length === 0 && parsed.success) return withPlacesOf(dirname(file), parsed.data);
  const located = faults.map((fault) => ({ line: lineOf(document, lines, fault.path), text: `${pathText(fault.path)}: ${fault.text}` }));
  throw refused(located.sort((a, b) => a.line - b.line).map(lineText(file)));
}

/** The files of secrets, wherever the program was started from. */
function withPlacesOf(folder: string, site: SiteFile): SiteFile {
  const placed = (user: NonNullable<ServerUser>): ServerUser =>
    'certificateFile' in user
      ? { certificateFile: resolve(folder, user.certificateFile), privateKeyFile: resolve(folder, user.privateKeyFile) }
      : 'passwordFile' in user
        ? { ...user, passwordFile: resolve(folder, user.passwordFile) }
        : user;
  return {
    ...site,
    alerts: withSecretPlaces(folder, site.alerts),
    servers: site.servers.map((server) => (server.user === undefined ? server : { ...server, user: placed(server.user) })),
  };
}

/** Aliases can blow a small file up to gigabytes; a site file needs few. */
function plainValue(file: string, document: Document): unknown {
  try {
    return document.toJS({ maxAliasCount: 1000 });
  } catch (error) {
    throw refused([`${file}:1 too many aliases; write the parts out`], error);
  }
}

const lineText =
  (file: string) =>
  ({ line, text }: { line: number; text: string }): string =>
    `${file}:${line} ${text}`;

function refused(faults: readonly string[], cause?: unknown): Fault {
  return new Fault('invalid', faults.join('\n'), cause);
}

function replaceEndpoints(raw: unknown, endpoints: ReadonlyMap<string, string>): SiteFault[] {
  const left = new Map(endpoints);
  const servers =
    typeof raw === 'object' && raw !== null && 'servers' in raw && Array.isArray(raw.servers) ? (raw.servers as unknown[]) : [];
  for (const server of servers) {
    if (typeof server !== 'object' || server === null || !('name' in server)) continue;
    const endpoint = left.get(String(server.name));
    if (endpoint === undefined) continue;
    Object.assign(server, { endpoint });
    left.delete(String(server.name));
  }
  return [...left.keys()].map((name) => ({
    path: ['servers'],
    text: `--endpoint names the server ${quoted(name)}, which the file does not have`,
  }));
}

/** Half of a surrogate pair is no text: no digest or file could hold it. */
function illFormed(value: unknown, path: Path): SiteFault[] {
  if (typeof value === 'string') return value.isWellFormed() ? [] : [{ path, text: 'holds half a character; write the text anew' }];
  if (typeof value !== 'object' || value === null) return [];
  return Object.entries(value).flatMap(([key, inner]) => illFormed(inner, [...path, Array.isArray(value) ? Number(key) : key]));
}

/** zod's issue as our sentence: what was seen, what is allowed. */
function issueFaults(issue: z.core.$ZodIssue, raw: unknown): SiteFault[] {
  const seen = seenText(valueAt(raw, issue.path), issue.path);
  switch (issue.code) {
    case 'invalid_key':
      return [{ path: issue.path, text: `wrong key; it must be ${issue.issues.map((inner) => inner.message).join(' and ')}` }];
    case 'unrecognized_keys':
      return issue.keys.map((key) => ({ path: [...issue.path, key], text: 'unknown key; correct its spelling or take it out' }));
    case 'invalid_type':
      return [
        {
          path: issue.path,
          text:
            valueAt(raw, issue.path) === undefined
              ? `missing; it must be ${a(issue.expected)}`
              : `saw ${seen}; it must be ${a(issue.expected)}`,
        },
      ];
    case 'invalid_value':
      return [{ path: issue.path, text: `saw ${seen}; allowed: ${issue.values.map(String).join(', ')}` }];
    case 'invalid_union':
      return [{ path: issue.path, text: `saw ${seen}; allowed: ${unionText(issue)}` }];
    case 'invalid_format':
      return [{ path: issue.path, text: `saw ${seen}; it must be ${formatText(issue)}` }];
    case 'too_small':
    case 'too_big':
      return [{ path: issue.path, text: `saw ${seen}; it must be ${boundText(issue)}` }];
    default:
      return [{ path: issue.path, text: `saw ${seen}; it must be ${issue.message}` }];
  }
}

function unionText(issue: z.core.$ZodIssueInvalidUnion): string {
  if (issue.discriminator !== undefined) return `an entry whose ${issue.discriminator} is webhook or mail`;
  if (issue.message !== 'Invalid input') return issue.message;
  return issue.errors.map((errors) => errors.map((e) => [...e.path.map(String), e.message].join(' ')).join(' and ')).join(', or ');
}

const formatText = (issue: z.core.$ZodIssueInvalidStringFormat): string =>
  issue.format === 'regex'
    ? issue.message
    : issue.format === 'url'
      ? 'a URL'
      : issue.format === 'email'
        ? 'a mail address'
        : `a ${issue.format}`;

function boundText(issue: z.core.$ZodIssueTooSmall | z.core.$ZodIssueTooBig): string {
  const unit = issue.origin === 'string' ? ' characters' : issue.origin === 'array' ? ' entries' : '';
  if (issue.code === 'too_small') return `${issue.inclusive === false ? 'more than' : 'at least'} ${issue.minimum}${unit}`;
  return `${issue.inclusive === false ? 'less than' : 'at most'} ${issue.maximum}${unit}`;
}

const WORDS: Readonly<Record<string, string>> = {
  array: 'a list',
  object: 'a group',
  record: 'a group',
  int: 'a whole number',
  boolean: 'true or false',
  string: 'a text',
};
const a = (type: string): string => WORDS[type] ?? `a ${type}`;

function valueAt(raw: unknown, path: Path): unknown {
  return path.reduce<unknown>((value, key) => (value as Record<PropertyKey, unknown> | null | undefined)?.[key], raw);
}

/** A text where a secret may have been written by mistake is not repeated: what is said goes to the log and to screens. */
const MAY_BE_SECRET: readonly PropertyKey[] = ['user', 'password', 'secret', 'token', 'url', 'smtp'];

function seenText(value: unknown, path: Path): string {
  const isHidden = typeof value === 'string' && (MAY_BE_SECRET.includes(path.at(-1) ?? '') || path.at(-2) === 'secrets');
  return isHidden ? `a text of ${value.length} characters (not shown, it may hold a secret)` : quoted(value);
}

/** Short, on one line, and harmless whatever the file holds. */
function quoted(value: unknown): string {
  const text =
    value === undefined
      ? 'nothing'
      : typeof value === 'object' && value !== null
        ? Array.isArray(value)
          ? 'a list'
          : 'a group'
        : JSON.stringify(value);
  return text.length > 60 ? `${text.slice(0, 59)}…` : text;
}

const pathText = (path: Path): string => (path.length === 0 ? 'the file' : path.map(String).join('.'));

/** The line of the value, of its key where the key is the fault, or of the nearest parent that is there. */
function lineOf(document: Document, lines: LineCounter, path: Path): number {
  for (let length = path.length; length >= 0; length -= 1) {
    const offset = offsetOf(document, path.slice(0, length));
    if (offset !== null) return lines.linePos(offset).line;
  }
  return 1;
}

function offsetOf(document: Document, path: Path): number | null {
  if (path.length === 0) return document.contents?.range?.[0] ?? null;
  const parent = path.length === 1 ? document.contents : document.getIn(path.slice(0, -1), true);
  const key = path.at(-1);
  if (isMap(parent)) {
    const pair = parent.items.find((item) => String(isScalar(item.key) ? item.key.value : item.key) === String(key));
    return pair !== undefined && isNode(pair.key) ? (pair.key.range?.[0] ?? null) : null;
  }
  const node = document.getIn(path, true);
  return isNode(node) ? (node.range?.[0] ?? null) : null;
}
