/**
 * Numbers of the messages of one subscription: they rise by one and wrap past 2^32-1 to 1; a keep-alive bears the next number without using
 * it (OPC 10000-4 5.14.1). The library does not look at them, so a message lost on the way would pass unseen.
 */
export class Sequence {
  #next = 0;

  /** The server numbers anew. */
  restart(): void {
    this.#next = 0;
  }

  /** True when messages before this one are missing. An older number, sent again after a repair, is none. */
  missesBefore(number: number, carriesValues: boolean): boolean {
    const ahead = this.#next === 0 ? 0 : (number - this.#next) | 0;
    if (ahead < 0) return false;
    this.#next = carriesValues ? after(number) : number;
    return ahead > 0;
  }
}

const after = (number: number): number => (number === 0xffffffff ? 1 : number + 1);
