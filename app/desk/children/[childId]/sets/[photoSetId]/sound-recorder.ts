/** Why nothing can be recorded, by what the browser says (Media Capture and Streams, 10.3.3). */
export type NoSound = "unsupported" | "refused" | "no-microphone" | "microphone-busy";

const TYPES = ["audio/webm;codecs=opus", "audio/mp4;codecs=mp4a.40.2", "audio/mp4"];
/** Speech in Opus or AAC is clear at this rate; three minutes are about 700 KB. */
const BITS_PER_SECOND = 32_000;
const PIECE_MS = 1000;
const LOOK_MS = 100;

export type Watch = {
  /** Each second's sound as it comes, and how long the note is by then, in milliseconds. */
  readonly piece: (sound: Blob, durationMs: number) => void;
  /** Ten times a second: the length so far in milliseconds, and the level, 0 (none) to 1. */
  readonly look: (durationMs: number, level: number) => void;
  /** The last piece has come. */
  readonly end: (durationMs: number) => void;
};

export type SoundRecorder = { readonly type: string; pause(): void; goOn(): void; stop(): void };

/** Asks for the microphone and records until `stop`, until it is unplugged, or for `maxMs`. */
export async function recordSound(maxMs: number, watch: Watch): Promise<SoundRecorder | NoSound> {
  if (typeof MediaRecorder === "undefined" || !navigator.mediaDevices) return "unsupported";
  const type = TYPES.find((each) => MediaRecorder.isTypeSupported(each));
  if (type === undefined) return "unsupported";
  let stream: MediaStream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ audio: { channelCount: 1, echoCancellation: true, noiseSuppression: true } });
  } catch (error) {
    return REASONS[error instanceof DOMException ? error.name : ""] ?? "microphone-busy";
  }
  const recorder = new MediaRecorder(stream, { mimeType: type, audioBitsPerSecond: BITS_PER_SECOND });
  const ear = listenTo(stream);
  let before = 0;
  let since = performance.now();
  const length = () => Math.min(before + (recorder.state === "recording" ? performance.now() - since : 0), maxMs);
  const stop = () => {
    if (recorder.state === "inactive") return;
    before = length();
    recorder.stop();
  };
  const clock = window.setInterval(() => {
    if (length() >= maxMs) stop();
    watch.look(length(), recorder.state === "recording" ? ear.level() : 0);
  }, LOOK_MS);
  recorder.addEventListener("dataavailable", ({ data }) => {
    if (data.size > 0) watch.piece(data, length());
  });
  recorder.addEventListener("stop", () => {
    window.clearInterval(clock);
    for (const track of stream.getTracks()) track.stop();
    ear.close();
    watch.end(before);
  });
  // Unplugged, or taken away in the browser's own settings.
  for (const track of stream.getTracks()) track.addEventListener("ended", stop);
  recorder.start(PIECE_MS);
  return {
    type,
    pause() {
      before = length();
      recorder.pause();
    },
    goOn() {
      since = performance.now();
      recorder.resume();
    },
    stop,
  };
}

const REASONS: Readonly<Record<string, NoSound>> = { NotAllowedError: "refused", SecurityError: "refused", NotFoundError: "no-microphone", OverconstrainedError: "no-microphone" };

/** The loudness of the last moment: from -60 dB of full scale (0) to full scale (1). */
function listenTo(stream: MediaStream): { level(): number; close(): void } {
  const context = new AudioContext();
  const analyser = context.createAnalyser();
  context.createMediaStreamSource(stream).connect(analyser);
  const samples = new Float32Array(analyser.fftSize);
  return {
    level() {
      analyser.getFloatTimeDomainData(samples);
      const power = samples.reduce((sum, sample) => sum + sample * sample, 0) / samples.length;
      return Math.min(Math.max(1 + Math.log10(power + 1e-12) / 6, 0), 1);
    },
    close() {
      void context.close();
    },
  };
}
