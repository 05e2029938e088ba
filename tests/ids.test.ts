// Every numbered rule in a src/ header has a test that names it, no test names a rule that does not exist, and an id is of one rule. Also runs alone.
import { readdirSync, readFileSync } from 'node:fs';

const read = (folder: string): string =>
  readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts'))
    .map((name) => readFileSync(`${folder}/${name}`, 'utf8'))
    .join('\n');
const ids = (text: string, pattern: RegExp): string[] => [...text.matchAll(pattern)].map((match) => match[1] as string);

export function faults(): string[] {
  // A line that begins with an id states the rule.
  const statements = ids(read('src'), /^ \* (\[[A-Z]{2}\d+\]) /gm);
  const stated = new Set(statements);
  // A title begins with the ids of what it claims; an id in a comment or further inside a title claims nothing.
  const titles = [...read('tests/src').matchAll(/['"`]((?:\[[A-Z]{2}\d+\][-, ]*)+)/g)].map((match) => match[1] as string).join('\n');
  const tested = new Set(ids(titles, /(\[[A-Z]{2}\d+\])/g));
  return [
    ...[...stated].filter((id) => statements.indexOf(id) !== statements.lastIndexOf(id)).map((id) => `${id} is stated twice`),
    ...[...stated].filter((id) => !tested.has(id)).map((id) => `${id} has no test`),
    ...[...tested].filter((id) => !stated.has(id)).map((id) => `${id} is tested but nowhere stated`),
  ];
}

if (import.meta.main) {
  const found = faults();
  console.log(found.join('\n') || 'every rule is stated and tested');
  process.exitCode = found.length > 0 ? 1 : 0;
} else {
  const { expect, test } = await import('vitest');
  test('every rule of src/ is tested under an id of its own, and every id tested is a rule', () => expect(faults()).toEqual([]));
}
