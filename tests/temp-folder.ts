/** One temp folder for a whole test run, gone with it: whatever a test leaves behind, or a killed one could not clear, ends here. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const NAMES = process.platform === 'win32' ? ['TEMP', 'TMP'] : ['TMPDIR'];

export default function setup(): () => void {
  const folder = mkdtempSync(join(tmpdir(), 'glowfleet-tests-'));
  for (const name of NAMES) process.env[name] = folder;
  return () => rmSync(folder, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
}
