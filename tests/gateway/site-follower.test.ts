/** Every bad file of the gallery, and files that no editor writes, against a site in force: nothing is taken over, and each fault is told. */
import { mkdtempSync, readdirSync, readFileSync, renameSync, rmSync, symlinkSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { parseSite } from '../../gateway/config.ts';
import { SiteFollower } from '../../gateway/site-follower.ts';
import type { SiteFile } from '../../src/config.ts';

const GALLERY = 'tests/configs/';
const GOOD = readFileSync(`${GALLERY}good-small.yaml`, 'utf8');
const NOTHING = { changes: [], links: { kept: [], renewed: [], begun: [], ended: [] }, dropped: [] };

let folder: string;
let file: string;
let follower: SiteFollower;
let taken: SiteFile[];
let log: string[];
let fatal: unknown[];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'glowfleet follow '));
  file = join(folder, 'site.yaml');
  writeFileSync(file, GOOD);
  [taken, log, fatal] = [[], [], []];
  follower = new SiteFollower({
    source: { file, text: GOOD, parse: (text) => parseSite(file, text) },
    clock: { now: () => 1 },
    take: (site) => {
      taken.push(site);
      return Promise.resolve(NOTHING);
    },
    log: (message) => void log.push(message),
    onFatal: (error) => void fatal.push(error),
    everyMs: 10,
  });
});
afterEach(async () => {
  await follower.stop();
  rmSync(folder, { recursive: true, force: true });
});

const BAD: readonly (readonly [string, string])[] = [
  ...readdirSync(GALLERY)
    .filter((name) => name.startsWith('bad-'))
    .map((name) => [name, readFileSync(GALLERY + name, 'utf8')] as const),
  ['an empty file', ''],
  ['only a comment', '# later\n'],
  ['cut in the middle of a word', GOOD.slice(0, GOOD.length / 2)],
  ['zeros, as after a power cut', '\0'.repeat(4096)],
  ['another document behind it', `${GOOD}---\n${GOOD}`],
  ['a page of a proxy', '<!doctype html><title>502</title>'],
  ['numbers for texts', GOOD.replace('Quellmoor Works', '12')],
  ['a key of the language', `${GOOD}__proto__: { polluted: true }\nconstructor: 1\n`],
  ['tabs for spaces', GOOD.replaceAll('  ', '\t')],
  ['merge marks', `<<<<<<< ours\n${GOOD}=======\n${GOOD}>>>>>>> theirs\n`],
  [
    'a bomb of aliases',
    ['a: &a [x,x,x,x,x,x,x,x,x]', ...[...'bcdefgh'].map((k, i) => `${k}: &${k} [${`*${'abcdefg'[i]},`.repeat(9)}]`)].join('\n'),
  ],
  ['deep nesting', `${'['.repeat(5_000)}${']'.repeat(5_000)}`],
];

describe('a bad site file', () => {
  test.each(BAD)('%s is taken over by nobody, and told with its line', async (_, text) => {
    writeFileSync(file, text);
    await expect(follower.reload('A. Weber')).rejects.toMatchObject({ code: 'invalid' });
    expect(taken).toEqual([]);
    expect(fatal).toEqual([]);
    const lines = follower.faults?.lines ?? [];
    expect(lines.length).toBeGreaterThan(0);
    for (const line of lines) expect(line.startsWith(`${file}:`)).toBe(true);
    expect(log.join('\n')).toContain(lines[0]);
    expect((Object.prototype as { polluted?: boolean }).polluted).toBeUndefined();
  });

  test('that is put right is forgotten, and what is right is taken over', async () => {
    writeFileSync(file, 'x');
    await expect(follower.reload('A. Weber')).rejects.toThrow();
    writeFileSync(file, GOOD.replace('Amber', 'Oak'));
    await follower.reload('A. Weber');
    expect(follower.faults).toBeNull();
    expect(taken.map(({ chambers }) => chambers[0]?.bay)).toEqual(['Oak']);
  });

  test('that is gone, a folder or far too large is told as such, and nothing is changed', async () => {
    rmSync(file);
    await expect(follower.reload('A. Weber')).rejects.toMatchObject({ code: 'unreadable', message: expect.stringContaining('ENOENT') });
    symlinkSync(folder, file);
    await expect(follower.reload('A. Weber')).rejects.toMatchObject({ message: expect.stringContaining('EISDIR') });
    rmSync(file);
    writeFileSync(file, '');
    truncateSync(file, 40 * 1024 * 1024);
    await expect(follower.reload('A. Weber')).rejects.toMatchObject({ message: expect.stringContaining('40 MB') });
    expect(taken).toEqual([]);
  });
});

describe('following', () => {
  test('takes a file over once, however it was written, and not again until it is written anew', async () => {
    follower.start();
    const bay = (name: string) => GOOD.replace('Amber', name);
    writeFileSync(file, bay('Oak'));
    await expect.poll(() => taken.length).toBe(1);
    writeFileSync(`${file}~`, bay('Elm'));
    renameSync(`${file}~`, file);
    await expect.poll(() => taken.length).toBe(2);
    rmSync(file);
    symlinkSync(join(folder, 'other.yaml'), file);
    writeFileSync(join(folder, 'other.yaml'), bay('Ash'));
    await expect.poll(() => taken.length).toBe(3);
    await new Promise((done) => setTimeout(done, 100));
    expect(taken.map(({ chambers }) => chambers[0]?.bay)).toEqual(['Oak', 'Elm', 'Ash']);
  });

  test('what was read at the start is no news, nor what a person had read', async () => {
    follower.start();
    writeFileSync(file, GOOD.replace('Amber', 'Oak'));
    await follower.reload('A. Weber');
    await new Promise((done) => setTimeout(done, 100));
    expect(taken.length).toBe(1);
  });
});
