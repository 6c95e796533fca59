/** Short tones: one for a cue, a lower one each of the last three seconds. Off unless asked for. */
let audio: AudioContext | null = null;

export function readySound(): void {
  audio ??= new AudioContext();
  void audio.resume();
}

export function tone(hertz: number, lastsS: number): void {
  if (!audio) return;
  const oscillator = audio.createOscillator();
  const gain = audio.createGain();
  oscillator.frequency.value = hertz;
  gain.gain.setValueAtTime(0.2, audio.currentTime);
  gain.gain.exponentialRampToValueAtTime(0.001, audio.currentTime + lastsS);
  oscillator.connect(gain).connect(audio.destination);
  oscillator.start();
  oscillator.stop(audio.currentTime + lastsS);
}
