// Every story in this folder, line by line.
import { readdirSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { play, readScenario, said } from './scenario.ts';

const folder = import.meta.dirname;
const stories = readdirSync(folder).filter((name) => name.endsWith('.txt'));

test('there are stories to tell', () => expect(stories.length).toBeGreaterThan(20));

test.each(stories)('%s', (name) => {
  const scenario = readScenario(readFileSync(`${folder}/${name}`, 'utf8'));
  expect(scenario.expected.length).toBeGreaterThan(0);
  expect(said(scenario, play(scenario).events)).toEqual(scenario.expected);
});
