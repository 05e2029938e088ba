/**
 * Sound and notices for new high alerts, silent until somebody asks for them on this screen. A browser plays no sound before the first touch
 * of a page, so a wish of yesterday sleeps until then, and the switch says so.
 */
import type { AlertBrief } from '../src/contract.ts';
import { newCalls } from './alert-call.ts';

const SOUND_KEY = 'glowfleet.sound';
const NOTICE_KEY = 'glowfleet.notices';
/** Two short soft notes, a fourth apart, rising. */
const NOTES_HZ = [587, 784];
const NOTE_S = 0.22;
const LOUDNESS = 0.2;

export class AlertCall {
  #sound = $state(false);
  #notices = $state(false);
  #isAsleep = $state(false);
  #trouble = $state.raw<string | null>(null);
  #known: ReadonlySet<string> | null = null;
  #audio: AudioContext | null = null;

  start(): void {
    this.#sound = localStorage.getItem(SOUND_KEY) === 'on';
    this.#notices = localStorage.getItem(NOTICE_KEY) === 'on' && 'Notification' in globalThis && Notification.permission === 'granted';
    this.#isAsleep = this.#sound;
    addEventListener('pointerdown', this.#wake);
    addEventListener('keydown', this.#wake);
  }

  stop(): void {
    removeEventListener('pointerdown', this.#wake);
    removeEventListener('keydown', this.#wake);
    void this.#audio?.close();
    this.#audio = null;
  }

  get sound(): boolean {
    return this.#sound;
  }

  /** Wanted, but this page was not touched yet. */
  get isAsleep(): boolean {
    return this.#isAsleep;
  }

  get notices(): boolean {
    return this.#notices;
  }

  /** Why it does not work here, in words. */
  get trouble(): string | null {
    return this.#trouble;
  }

  hear(alerts: readonly AlertBrief[], now: number): void {
    const { known, calls } = newCalls(this.#known, alerts, now);
    this.#known = known;
    if (calls.length === 0) return;
    if (this.#sound) this.#play();
    if (this.#notices) for (const one of calls) this.#show(one);
  }

  /** Turned on, it plays once, so that who asked knows what to listen for. */
  toggleSound(): void {
    this.#sound = !this.#sound;
    localStorage.setItem(SOUND_KEY, this.#sound ? 'on' : 'off');
    if (this.#sound) this.#play();
  }

  async toggleNotices(): Promise<void> {
    this.#trouble = null;
    if (this.#notices) this.#notices = false;
    else this.#notices = await this.#mayShow();
    localStorage.setItem(NOTICE_KEY, this.#notices ? 'on' : 'off');
  }

  async #mayShow(): Promise<boolean> {
    if (!isSecureContext || !('Notification' in globalThis)) {
      this.#trouble = 'This browser shows notices only for pages opened by https, or on the gateway’s own machine.';
      return false;
    }
    if ((await Notification.requestPermission()) === 'granted') return true;
    this.#trouble = 'Notices are blocked for this page. Allow them in the browser’s settings of this site.';
    return false;
  }

  #wake = (): void => {
    if (!this.#sound) return;
    this.#audio ??= new AudioContext();
    void this.#audio.resume().then(() => (this.#isAsleep = false));
  };

  #play(): void {
    const audio = (this.#audio ??= new AudioContext());
    NOTES_HZ.forEach((hz, i) => {
      const [note, gain, at] = [audio.createOscillator(), audio.createGain(), audio.currentTime + i * NOTE_S];
      note.frequency.value = hz;
      gain.gain.setValueAtTime(0, at);
      gain.gain.linearRampToValueAtTime(LOUDNESS, at + 0.02);
      gain.gain.linearRampToValueAtTime(0, at + NOTE_S);
      note.connect(gain).connect(audio.destination);
      note.start(at);
      note.stop(at + NOTE_S);
    });
  }

  #show({ id, headline }: AlertBrief): void {
    try {
      // One notice an alert, however many pages are open.
      const notice = new Notification(headline, { tag: id, body: 'Glowfleet: nobody has seen this alert yet.' });
      notice.onclick = () => {
        focus();
        history.pushState(null, '', `/alerts/${encodeURIComponent(id)}`);
        dispatchEvent(new PopStateEvent('popstate'));
        notice.close();
      };
    } catch {
      // Some phones show notices only for installed pages.
      this.#notices = false;
      this.#trouble = 'This browser shows no notices for a page that is not installed.';
    }
  }
}
