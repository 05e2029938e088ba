/** The gallery: every good file starts, every bad file is refused with exactly the lines written in its first comment. */
import { readFileSync, readdirSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { parseSite, readSite } from '../../gateway/config.ts';

const FOLDER = 'tests/configs/';
const files = readdirSync(FOLDER).sort();

const refusal = (file: string, text: string): string => {
  try {
    parseSite(file, text);
    return 'accepted';
  } catch (error) {
    return (error as Error).message;
  }
};

/** The comment lines at the head, without their `# `. */
const expected = (text: string): string =>
  text
    .split('\n')
    .filter((line, i, all) => line.startsWith('#') && all.slice(0, i).every((before) => before.startsWith('#')))
    .map((line) => line.slice(2))
    .join('\n');

describe('site files', () => {
  test.each(files.filter((f) => f.startsWith('good-')))('%s is accepted', (file) => {
    expect(refusal(file, readFileSync(FOLDER + file, 'utf8'))).toBe('accepted');
  });

  test.each(files.filter((f) => f.startsWith('bad-')))('%s is refused with the lines it names', (file) => {
    const text = readFileSync(FOLDER + file, 'utf8');
    expect(refusal(file, text)).toBe(expected(text));
  });

  test('an endpoint can be replaced by name, and only by a name that exists', () => {
    const text = readFileSync(`${FOLDER}good-small.yaml`, 'utf8');
    expect(parseSite('s', text, new Map([['amber', 'opc.tcp://127.0.0.1:9']])).servers[0]?.endpoint).toBe('opc.tcp://127.0.0.1:9');
    expect(() => parseSite('s', text, new Map([['birch', 'opc.tcp://127.0.0.1:9']]))).toThrow(
      's:3 servers: --endpoint names the server "birch", which the file does not have',
    );
    expect(() => parseSite('s', text, new Map([['amber', 'nonsense']]))).toThrow('saw "nonsense"; it must be an address such as');
  });

  test('a file that is not there is one sentence', async () => {
    await expect(readSite('nowhere.yaml')).rejects.toMatchObject({
      code: 'unreadable',
      message: 'The site file nowhere.yaml cannot be read (ENOENT). Name an existing file with --site.',
    });
  });

  test('a file of aliases upon aliases is refused, not expanded', () => {
    const bomb = [
      'a: &a [x,x,x,x,x,x,x,x,x,x]',
      ...'bcdefg'.split('').map((k, i) => `${k}: &${k} [${`*${'abcdef'[i]},`.repeat(10)}]`),
    ].join('\n');
    expect(refusal('s', bomb)).toMatch(/^s:1 /);
  });

  test('values in sentences are short and on one line, whatever the file holds', () => {
    const text = readFileSync(`${FOLDER}good-small.yaml`, 'utf8').replace('Europe/Berlin', `"${'<script>\\n'.repeat(50)}"`);
    const lines = refusal('s', text).split('\n');
    expect(lines).toHaveLength(1);
    expect(lines[0]?.length).toBeLessThan(200);
  });
});
