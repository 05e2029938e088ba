/**
 * What falls due: maintenance by its counters, certificates by their end.
 * [UF1] Maintenance is told from so many days before the likely day on, and when it is overdue. What nobody can say a day for is told when overdue.
 * [UF2] A certificate, our own, a server's or a user's, is told from so many days before its end on.
 */
import type { Finding } from './alert-finding.ts';
import { expirySentence, type CertificateUse } from './certificate-expiry.ts';
import type { MaintenanceLine } from './counter-answer.ts';
import { amount } from './maintenance-due.ts';
import { DAY_MS } from './zone.ts';

type Ahead = { readonly now: number; readonly daysAhead: number };

/** [UF1] */
export function maintenanceFindings(lines: readonly MaintenanceLine[], { now, daysAhead }: Ahead): readonly Finding[] {
  const isNear = ({ state, likely }: MaintenanceLine): boolean =>
    state === 'overdue' || (state === 'due' && likely !== null && likely <= now + daysAhead * DAY_MS);
  return lines.filter(isNear).map((line) => {
    const { chamber, name, part, counted, every, used, due, state, isSinceWork } = line;
    return {
      subject: `${chamber} ${name}`,
      chamber,
      headline: `${chamber}: ${name} is ${state === 'overdue' ? due : `due ${due}`}.`,
      over: `${chamber}: over. ${name} was done, or its interval was changed.`,
      rule: `every ${amount(every, counted)} by our own count, told ${daysAhead} days ahead (maintenance; alerts.rules.meter-due)`,
      cure: `Plan it. When it is done, tell it on the chamber’s page with the part it was worked on (${part}): the count begins anew.`,
      facts: [
        { label: 'Used', value: `${amount(used, counted)} of ${amount(every, counted)}` },
        { label: 'Counted', value: isSinceWork ? 'since the last work that was told' : 'since first watched: nobody told of any work' },
      ],
    };
  });
}

/** [UF2] `now` is real time. */
export function certificateFindings(uses: readonly CertificateUse[], { now, daysAhead }: Ahead): readonly Finding[] {
  return uses.flatMap((use) => {
    const said = use.validTo - now > daysAhead * DAY_MS ? null : expirySentence(use, now);
    if (said === null) return [];
    const cut = said.indexOf('. ');
    const whose = use.whose === 'own' ? 'our own' : `${use.whose} ${use.server}`;
    return [
      {
        subject: whose,
        chamber: null,
        headline: said.slice(0, cut + 1),
        over: `Over: the certificate (${whose}) was renewed.`,
        rule: `a certificate ends within ${daysAhead} days (alerts.rules.certificate)`,
        cure: said.slice(cut + 2),
        facts: [{ label: 'Valid until', value: new Date(use.validTo).toISOString().slice(0, 10) }],
      },
    ];
  });
}
