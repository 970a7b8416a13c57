/**
 * Makes the tones of `sounds.ts` with Web Audio: no sound file, nothing that
 * the content policy would refuse. A browser lets a page sound only after its
 * first click or key; until then the player says that it is blocked.
 */
import { create } from 'zustand';
import { type SoundingLevel, soundPatterns } from './sounds.ts';

export type SoundState = 'off' | 'blocked' | 'ready';

export const useSound = create<{ readonly state: SoundState; readonly playing: SoundingLevel | null }>(() => ({
  state: 'blocked',
  playing: null,
}));

/** Attack and release, so that a tone does not click. */
const RAMP_S = 0.015;

let context: AudioContext | null = null;
let timer: ReturnType<typeof setInterval> | null = null;

/** To be called on a click or key of the person, and again does no harm. */
export function unlockSound(): void {
  context ??= new AudioContext();
  void context.resume().then(() => {
    if (context?.state === 'running' && useSound.getState().state === 'blocked') useSound.setState({ state: 'ready' });
  });
}

/** @param loudness 0 to 1; 0 is off */
export function play(level: SoundingLevel | null, loudness: number): void {
  if (useSound.getState().playing === level && timer !== null) return;
  stop();
  useSound.setState({ playing: level });
  if (level === null || loudness <= 0) return;
  round(level, loudness);
  timer = setInterval(() => round(level, loudness), soundPatterns[level].every_ms);
}

/** One round of a level's pattern, for the sound test. */
export function playOnce(level: SoundingLevel, loudness: number): void {
  unlockSound();
  void context?.resume().then(() => round(level, loudness));
}

export function stop(): void {
  if (timer !== null) clearInterval(timer);
  timer = null;
  useSound.setState({ playing: null });
}

function round(level: SoundingLevel, loudness: number): void {
  if (context === null || context.state !== 'running') return;
  for (const tone of soundPatterns[level].tones) {
    const from_s = context.currentTime + tone.at_ms / 1000;
    const to_s = from_s + tone.length_ms / 1000;
    const oscillator = context.createOscillator();
    const gain = context.createGain();
    oscillator.frequency.value = tone.frequency_Hz;
    gain.gain.setValueAtTime(0, from_s);
    gain.gain.linearRampToValueAtTime(loudness, from_s + RAMP_S);
    gain.gain.setValueAtTime(loudness, to_s - RAMP_S);
    gain.gain.linearRampToValueAtTime(0, to_s);
    oscillator.connect(gain).connect(context.destination);
    oscillator.start(from_s);
    oscillator.stop(to_s);
  }
}
