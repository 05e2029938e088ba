import { readFileSync, writeFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { siteSchemaText } from '../../gateway/site-schema.ts';

const FILE = 'docs/site.schema.json';

test('the schema that editors load is that of the program', () => {
  if (process.env['UPDATE'] === '1') writeFileSync(FILE, siteSchemaText());
  expect(readFileSync(FILE, 'utf8')).toBe(siteSchemaText());
});

test('the demo site file names it', () => {
  expect(readFileSync('gateway/simulator/quellmoor.yaml', 'utf8').split('\n')[0]).toBe(
    '# yaml-language-server: $schema=../../docs/site.schema.json',
  );
});
