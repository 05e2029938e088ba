import { describe, expect, it } from 'vitest';
import { alertMessage, htmlOf, line, NO_SAFETY_FUNCTION, textOf, type Place } from '../../../gateway/alerts/message.ts';
import type { Alert } from '../../../src/contract.ts';
import { HOSTILE_TEXTS } from '../hostile-texts.ts';
import { exampleAlert, exampleAlertAlarms, T0 } from '../wire-examples.ts';

const place: Place = { site: 'Quellmoor Works', hall: 'Hall 3', zone: 'Europe/Berlin', url: 'http://127.0.0.1:8080/' };
const everywhere = (text: string) =>
  exampleAlert({
    id: text,
    chamber: text,
    headline: text,
    rule: text,
    acknowledgedBy: text,
    together: [text],
    shares: text,
    cure: text,
    alarms: exampleAlertAlarms({
      firstOut: { chamber: text, code: text, text, at: T0 },
      top: [{ chamber: text, code: text, text, count: 1 }],
    }),
    facts: [{ label: text, value: text }],
  });

describe('the message of an alert', () => {
  it('says who, since when, how many, what is usual, what came first, what else, and where to look', () => {
    expect(textOf(alertMessage(exampleAlert(), 'opened', place))).toBe(`PC-06: 14 alarms since 07:00, usually 0.3 in 10 minutes

Chamber: PC-06 (Quellmoor Works, Hall 3)
Since: 25 Nov 2026, 07:00, still going on
How many: 14 alarms (19 with chatter), at most 12 in 10 minutes
Usual here: 0.30 in 10 minutes over 410 observed hours; 6 or more are told
First alarm: REFLECTED_HIGH Reflected power high (PC-06, 25 Nov 2026, 07:00)
Most frequent:
  9 × REFLECTED_HIGH Reflected power high (PC-06)
At the same time: PC-05
Acknowledged: not yet
Rule: scan statistic over 10 minutes

http://127.0.0.1:8080/alerts/burst%2FPC-06%2F1764050400000

${NO_SAFETY_FUNCTION}
`);
  });

  it('says that it is over, and when', () => {
    const over = alertMessage(exampleAlert({ state: 'closed', closedAt: T0 + 600_000 }), 'opened', place);
    expect(over.subject).toMatch(/^Over: PC-06/);
    expect(over.lines.join()).toContain('over at 25 Nov 2026, 07:10');
  });

  it('says so where there is not enough history', () => {
    const short = exampleAlert({ alarms: exampleAlertAlarms({ usual: null }) });
    expect(alertMessage(short, 'opened', place).lines.join('\n')).toContain('Usual here: not enough history yet');
  });

  it('of what is not made of alarms names the kind, and tells its facts, what is shared and what to do', () => {
    const down = exampleAlert({
      headline: 'PC-06: down for 45 min: tripped.',
      ...{ kind: 'down', alarms: null, together: [], shares: 'cooling water Loop South', cure: 'Check the pump.' },
      facts: [{ label: 'Cause', value: 'tripped: RF_FAULT' }],
    });
    const { subject, lines } = alertMessage(down, 'opened', place);
    expect(subject).toBe('Alert: PC-06: down for 45 min: tripped');
    expect(lines[1], 'before anything else').toBe('What to do: Check the pump.');
    expect(lines).toEqual(
      expect.arrayContaining(['What they share: cooling water Loop South', 'Cause: tripped: RF_FAULT', 'What to do: Check the pump.']),
    );
    expect(lines.join('\n')).not.toContain('How many');
  });

  it.each([
    [
      { kind: 'flood', position: 'Drill desk', chamber: null },
      'Drill desk: 12 alarms in 10 minutes, where 0.3 in 10 minutes are usual. First: Water low (W).',
      'Alert: Drill desk: 12 alarms in 10 minutes, where 0.3 in 10 minutes are usual, first Reflected power high',
    ],
    [
      { kind: 'drift' },
      'PC-07: Pressure 20.6 mTorr lower (6 %): 311 mTorr, usually 331 mTorr. It fits no pattern we know.',
      'Alert: PC-07: Pressure 20.6 mTorr lower (6 %): 311 mTorr, usually 331 mTorr',
    ],
    [
      {
        kind: 'common-cause',
        chamber: null,
        shares: 'cooling water (Loop South)',
        together: ['PC-01', 'PC-02', 'PC-03'],
        severity: 'high',
      },
      '3 chambers (PC-01, PC-02, PC-03): Cooling water flow low at once. They share cooling water (Loop South).',
      'Alert, high: 3 chambers (PC-01, PC-02, PC-03): Cooling water flow low at once, cooling water (Loop South)',
    ],
    [
      { kind: 'down', state: 'closed', closedAt: T0 },
      'PC-05: over. Down for 6 h 4 min: repair: RF generator fault.',
      'Over: PC-05: Down for 6 h 4 min: repair: RF generator fault',
    ],
    [
      { kind: 'common-cause', state: 'closed', closedAt: T0, chamber: null },
      'Over: 12 chambers (PC-01 and 11 more): House nitrogen low, for 30 min, 12 alarms.',
      'Over: 12 chambers (PC-01 and 11 more): House nitrogen low, for 30 min, 12 alarms',
    ],
  ] as const)('has a subject that says how bad, where and what: %j', (part, headline, said) => {
    const { subject } = alertMessage(exampleAlert({ ...part, headline } as Partial<Alert>), 'opened', place);
    expect(subject).toBe(said);
  });

  it('of one alarm on several chambers names it once, and no usual count that it was not judged by', () => {
    const [first] = exampleAlertAlarms().top;
    const alarms = exampleAlertAlarms({
      usual: null,
      top: ['PC-01', 'PC-02', 'PC-03'].map((chamber) => ({ ...first!, chamber, count: 1 })),
    });
    const said = alertMessage(exampleAlert({ kind: 'common-cause', alarms }), 'opened', place).lines.join();
    expect(said).not.toMatch(/Usual here|Most frequent/);
    expect(said).toContain('How many');
  });

  it.each(HOSTILE_TEXTS.map((text) => [text]))('%j stays text', (text) => {
    const message = alertMessage(everywhere(text), 'opened', place);
    const html = htmlOf(message);
    const tags = [...html.matchAll(/<\/?([a-z!][a-z]*)([^>]*)>/gi)].map((tag) => [tag[1]?.toLowerCase(), tag[2]?.trim()]);
    for (const [name, attributes] of tags) {
      expect(['!doctype', 'html', 'meta', 'title', 'body', 'div', 'br', 'p', 'a', 'b']).toContain(name);
      if (name === 'div' || name === 'p') expect(attributes).toBe('');
    }
    expect(html.match(/<a href="http:\/\/127\.0\.0\.1:8080\/alerts\/[^"<>]*">/g)).toHaveLength(1);
    for (const one of [message.subject, ...message.lines]) expect(one).not.toMatch(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}]/u);
    expect(line(text).length).toBeLessThanOrEqual(200);
    expect(message.lines).toHaveLength(15);
  });
});
