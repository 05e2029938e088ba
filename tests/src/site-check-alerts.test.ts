import { describe, expect, test } from 'vitest';
import { siteFile } from '../../src/config.ts';
import { alertFaults } from '../../src/site-check-alerts.ts';

const hook = { name: 'hook', type: 'webhook', url: 'https://plant.invalid' };
const shifts = [{ name: 'early', days: ['mon'], from: '06:00', to: '14:00' }];
const later = { from: '2027-01-01', shifts: [{ name: 'weekend', days: ['sat'], from: '06:00', to: '14:00' }] };
const faults = (alerts: object, calendar: object = { shifts, changes: [later] }): string[] =>
  alertFaults(
    siteFile.parse({
      site: { name: 'Quellmoor Works', hall: 'Hall 3', zone: 'Europe/Berlin' },
      servers: [{ name: 'amber', endpoint: 'opc.tcp://127.0.0.1:4840' }],
      templates: { small: { rfMaxW: 1000, basePressurePa: 5, gases: {}, tags: {} } },
      chambers: [{ id: 'PC-01', bay: 'Amber', floor: { column: 1, row: 1 }, server: 'amber', template: 'small', path: 'x' }],
      calendar,
      alerts,
    }),
  ).map(({ path, text }) => `${path.join('.')}: ${text}`);

describe('what the site file says of messages', () => {
  test('[SF1] every route and every shift that is named exists, those of a later change of the calendar too', () => {
    const tell = { to: ['hook', 'x'], shifts: ['early', 'weekend', 'late'], otherwise: ['y'], escalate: { afterMin: 5, to: ['z'] } };
    expect(faults({ routes: [hook], tell, rules: { down: { tell: { to: ['w'] } } } })).toEqual([
      'alerts.tell.to.1: saw "x"; the file has hook',
      'alerts.tell.otherwise.0: saw "y"; the file has hook',
      'alerts.tell.escalate.to.0: saw "z"; the file has hook',
      'alerts.tell.shifts.2: saw "late"; the file has early, weekend',
      'alerts.rules.down.tell.to.0: saw "w"; the file has hook',
    ]);
    expect(faults({ tell: { to: ['x'], shifts: ['y'] } }, {})).toEqual([
      'alerts.tell.to.0: saw "x"; the file has none',
      'alerts.tell.shifts.0: saw "y"; the file has none',
    ]);
    expect(faults({ routes: [hook], tell: { to: ['hook'], shifts: 'always' } })).toEqual([]);
  });

  test('[SF2] a repeat comes less often than messages are put together', () => {
    expect(faults({ tell: { repeatMin: 5 } })).toEqual(['alerts.tell.repeatMin: saw 5; it must be more than groupMin, which is 5']);
    expect(faults({ tell: { groupMin: 60 }, rules: { down: { tell: { repeatMin: 30 } } } })).toEqual([
      'alerts.rules.down.tell.repeatMin: saw 30; it must be more than groupMin, which is 60',
    ]);
    expect(faults({ tell: { repeatMin: 5.1 } })).toEqual([]);
  });

  // RFC 1918, RFC 4193, RFC 6890
  test('[SF3] a receiver inside the plant says so', () => {
    const inside = [
      'http://localhost:9',
      'http://127.0.0.1',
      'http://10.1.2.3/x',
      'http://192.168.0.1',
      'http://172.31.0.1',
      'http://[::1]',
      'http://[fd00::1]',
    ];
    for (const url of inside) {
      expect(faults({ routes: [{ ...hook, url }], heartbeat: { url } }).map((one) => one.split(':')[0])).toEqual([
        'alerts.routes.0.url',
        'alerts.heartbeat.url',
      ]);
      expect(faults({ routes: [{ ...hook, url, allowPrivate: true }], heartbeat: { url, allowPrivate: true } })).toEqual([]);
    }
    for (const url of ['https://172.32.0.1', 'https://plant.invalid', 'https://10gbit.invalid'])
      expect(faults({ routes: [{ ...hook, url }] })).toEqual([]);
  });
});
