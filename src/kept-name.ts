/** Names under which a gateway keeps states of its own beside those of its chambers, which are kept by their ids. */
export const KEPT = { alertWatch: 'alert-watch', demo: 'demo', heartbeat: 'heartbeat' } as const;
