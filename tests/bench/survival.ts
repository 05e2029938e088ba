/**
 * Survival in figures: many sessions, recovery after faults, memory over many plant hours. Linux only (/proc). Some thirty-five minutes; prints a
 * page, and with a file name writes it there too.
 *
 *   npm run bench -- survival [docs/benchmark-survival.md] [--sessions 50,200,300,500] [--rounds 3] [--soak 20]
 */
import { writeFile } from 'node:fs/promises';
import { cpus, loadavg } from 'node:os';
import { parseArgs } from 'node:util';
import { format } from 'prettier';
import { recovery, type Recovered, type Recovery } from './recovery.ts';
import { SERVERS_A_PROCESS } from './bench-site.ts';
import { sessions, type Sessions } from './sessions.ts';
import { soak, type SoakPart } from './soak.ts';

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    sessions: { type: 'string', default: '50,200,300,500' },
    rounds: { type: 'string', default: '3' },
    soak: { type: 'string', default: '20' },
  },
});
const MB = 1e6;
const loadBefore = loadavg()[0] ?? 0;

const many: Sessions[] = [];
const tooMany: string[] = [];
for (const count of values.sessions.split(',').map(Number)) {
  console.log(`${count} sessions`);
  await sessions(count).then(
    (one) => many.push(one),
    (error: unknown) =>
      tooMany.push(`${count} sessions were more than this machine carries, servers included: ${(error as Error).message}.`),
  );
}
console.log('recovery');
const recovered = await recovery(Number(values.rounds));
console.log('soak');
const soaked = await soak(Number(values.soak));
const page = await format(pageOf(), { parser: 'markdown' });
console.log(page);
if (positionals[0] !== undefined) await writeFile(positionals[0], page);
process.exit(0);

function pageOf(): string {
  const machine = `${cpus().length} cores (${cpus()[0]?.model.trim() ?? ''}), Node ${process.versions.node}`;
  const load = `load average ${loadBefore.toFixed(1)} before, ${(loadavg()[0] ?? 0).toFixed(1)} after`;
  return `# Benchmark of survival

\`npm run bench -- survival docs/benchmark-survival.md\` measures anew and writes this page. Some thirty-five minutes, on Linux; nothing else should run.

## A session for every chamber

| sessions | values/s that came, of those made | gateway, CPU-s per 100 000 values | bare subscriber with as many sessions | ratio | kept per chamber, gateway | bare | ratio | resident per chamber, gateway | bare | all read after |
| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |
${many.map(sessionsRow).join('\n')}

The bare subscriber is the same library with an empty handler and as many sessions; it is measured first, then the gateway at the same servers. ${SERVERS_A_PROCESS} of the servers share a process, so that it is not they who fall behind; they run on the same cores. Every chamber has 30 tags, of which 22 change each second. Memory per chamber is what a fleet adds to the smallest one of the table: kept is what is left after garbage was collected (heap and what hangs on it), resident is what the operating system counts, which grows as far as the collector lets it. All are read: from the start of the program until every server was heard.${tooMany.map((said) => ` ${said}`).join('')}

## After a fault

| fault | unheard is said after | read again after its end, median (longest) | bare client with the library's own reconnection | ratio |
| --- | --- | --- | --- | --- |
${recovered.map(recoveryRow).join('\n')}

Values are the times they were made at; "read again" is the first value made after the fault's end. "Never" is: not within a minute. A bare client goes on with the node numbers of before when a server comes back with its namespaces in another order, and hears nothing or another tag.

## Memory over many plant hours

| part | kept at first | kept at last | slope | bytes per fact told | most |
| --- | --- | --- | --- | --- | --- |
${soaked.parts.map(soakRow).join('\n')}

The demo of twelve chambers at 60 times real time for ${soaked.plantHours.toFixed(0)} plant hours after two hours to warm up: ${soaked.facts.toLocaleString('en')} facts, ${soaked.cuts} cuts of a line, pages asked for all the while. Every ten seconds garbage is collected and what is left is written down: heap and what hangs on it, kept or on its way. The line is laid through the least of every two plant hours, because what is on its way comes and goes; it has the slope shown, with its standard error, and first and last are its ends. Most is the highest of all looks.

${new Date().toISOString().slice(0, 10)}, ${machine}, ${load}.
`;
}

type Part = keyof Sessions['keptBytes'];
function sessionsRow({ sessions: count, cost, keptBytes, made, allLiveMs }: Sessions): string {
  const base = many[0] as Sessions;
  const more = count - base.sessions;
  const perChamber = (bytes: number, ofBase: number): string => (more > 0 ? `${((bytes - ofBase) / more / MB).toFixed(2)} MB` : 'base');
  const kept = (side: Part): string => perChamber(keptBytes[side], base.keptBytes[side]);
  const resident = (side: Part): string => perChamber(cost[side].rssBytes, base.cost[side].rssBytes);
  const { gateway, raw } = cost;
  return `| ${[
    count,
    `${gateway.valuesPerS.toFixed(0)} of ${made}`,
    `${gateway.per100k.toFixed(2)} (${(100 * gateway.cores).toFixed(0)} % of a core)`,
    `${raw.per100k.toFixed(2)} (${(100 * raw.cores).toFixed(0)} %)`,
    (gateway.per100k / raw.per100k).toFixed(2),
    kept('gateway'),
    kept('raw'),
    more > 0 ? ((keptBytes.gateway - base.keptBytes.gateway) / (keptBytes.raw - base.keptBytes.raw)).toFixed(1) : '',
    resident('gateway'),
    resident('raw'),
    `${(allLiveMs / 1000).toFixed(1)} s`,
  ].join(' | ')} |`;
}

function recoveryRow({ fault, rounds }: Recovered): string {
  const [link, bare] = [spread(rounds, 'linkMs'), spread(rounds, 'bareMs')];
  const ratio = link.median !== null && bare.median !== null ? (link.median / bare.median).toFixed(1) : '';
  return `| ${[fault, spread(rounds, 'unheardMs').text, link.text, bare.text, ratio].join(' | ')} |`;
}

function spread(rounds: readonly Recovery[], of: keyof Recovery): { readonly median: number | null; readonly text: string } {
  const sorted = rounds.map((round) => round[of] ?? Number.POSITIVE_INFINITY).sort((a, b) => a - b);
  const said = (ms: number): string => (Number.isFinite(ms) ? `${(ms / 1000).toFixed(1)} s` : 'never');
  const median = sorted[sorted.length >> 1] as number;
  return { median: Number.isFinite(median) ? median : null, text: `${said(median)} (${said(sorted.at(-1) as number)})` };
}

function soakRow({ name, firstBytes, lastBytes, bytesPerPlantHour, errorPerPlantHour, mostBytes }: SoakPart): string {
  const perHour = `${(bytesPerPlantHour / MB).toFixed(3)} ± ${(errorPerPlantHour / MB).toFixed(3)} MB per plant hour`;
  const perFact = ((bytesPerPlantHour * soaked.plantHours) / Math.max(1, soaked.facts)).toFixed(0);
  return `| ${[name, `${(firstBytes / MB).toFixed(0)} MB`, `${(lastBytes / MB).toFixed(0)} MB`, perHour, perFact, `${(mostBytes / MB).toFixed(0)} MB`].join(' | ')} |`;
}
