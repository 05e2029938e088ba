/** The files of the secrets of routes, wherever the program was started from. */
import { resolve } from 'node:path';
import type { SiteFile } from '../src/config.ts';

type Alerts = SiteFile['alerts'];
type Secrets = NonNullable<Alerts['heartbeat']>['secrets'];

export function withSecretPlaces(folder: string, alerts: Alerts): Alerts {
  const placed = <T extends { readonly secrets?: Secrets }>(one: T): T =>
    one.secrets === undefined
      ? one
      : { ...one, secrets: one.secrets.map((place) => ('file' in place ? { file: resolve(folder, place.file) } : place)) };
  const routes = alerts.routes.map((route) => {
    if (route.type === 'webhook') return placed(route);
    const { user } = route;
    return user !== undefined && 'passwordFile' in user
      ? { ...route, user: { ...user, passwordFile: resolve(folder, user.passwordFile) } }
      : route;
  });
  return { ...alerts, routes, ...(alerts.heartbeat && { heartbeat: placed(alerts.heartbeat) }) };
}
