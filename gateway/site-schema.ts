/** The site file's shape as JSON Schema, by which editors complete and underline; `glowfleet check` knows more than it. */
import * as z from 'zod';
import { siteFile } from '../src/config.ts';

export const siteSchemaText = (): string =>
  `${JSON.stringify({ title: 'Glowfleet site file', ...z.toJSONSchema(siteFile, { io: 'input' }) }, null, 2)}\n`;
