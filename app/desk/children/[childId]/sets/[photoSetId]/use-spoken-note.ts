import { useCallback, useEffect, useRef, useState } from "react";
import { recordSound, type SoundRecorder } from "@/app/desk/children/[childId]/sets/[photoSetId]/sound-recorder";
import { addKept, beginKept, dropKept, finishKept, keptId, readKept } from "@/app/desk/children/[childId]/sets/[photoSetId]/voice-keep";
import { removeNote, sendNote, type Refusal, type UpNote } from "@/app/desk/children/[childId]/sets/[photoSetId]/voice-upload";
import { VOICE_LIMITS } from "@/lib/voice/limits";

/** What is being done just now; `kept` is a note that lies on this computer and is not up yet. */
export type Work =
  | { readonly at: "none" | "asking" | "recording" | "paused" }
  | { readonly at: "sending"; readonly share: number }
  | { readonly at: "kept"; readonly refusal: Refusal };

type Held = { readonly key: string; type: string; readonly pieces: Blob[]; isFinished: boolean };

const NONE: Work = { at: "none" };
/** Tried again by itself: the fault is not in the note. */
const PASSING = ["line", "signed-out", "voice-queue-full"];
const AGAIN_MS = 8000;

/** Records a spoken note for one photo set, keeps it in this browser, sends it up, and goes on where it was left. */
export function useSpokenNote({ childId, photoSetId, personId, saved }: {
  readonly childId: string;
  readonly photoSetId: string;
  readonly personId: string;
  /** This person's own note that is up and not sent yet. */
  readonly saved: UpNote | null;
}) {
  const id = keptId(personId, childId, photoSetId);
  const [note, setNote] = useState(saved);
  const [work, setWork] = useState<Work>(NONE);
  const [now, setNow] = useState({ lengthMs: 0, level: 0 });
  const [problem, setProblem] = useState<string | null>(null);
  /** The note was cut off when the page closed while recording. */
  const [isCut, setCut] = useState(false);
  const [cannotKeep, setCannotKeep] = useState(false);
  /** What was recorded and is not up yet, to be listened to. */
  const [sound, setSound] = useState<string | null>(null);
  const recorder = useRef<SoundRecorder | null>(null);
  const held = useRef<Held | null>(null);
  const keeping = useRef(Promise.resolve());
  const reading = useRef(Promise.resolve());

  /** One after the other, so that a piece never comes before its beginning. */
  const keep = useCallback((what: () => Promise<void>) => {
    keeping.current = keeping.current.then(what).catch(() => setCannotKeep(true));
  }, []);

  const send = useCallback(async () => {
    const mine = held.current;
    if (!mine) return setWork(NONE);
    setWork({ at: "sending", share: 0 });
    const whole = new Blob(mine.pieces, { type: mine.type });
    setSound((before) => before ?? URL.createObjectURL(whole));
    const upped = await sendNote(childId, photoSetId, whole, mine.key, (share) => {
      if (held.current === mine) setWork({ at: "sending", share });
    });
    // Thrown away or recorded again meanwhile.
    if (held.current !== mine) return;
    if ("refusal" in upped) return setWork({ at: "kept", refusal: upped.refusal });
    held.current = null;
    keep(() => dropKept(id, mine.key));
    setCut(!mine.isFinished);
    setSound(null);
    setNote(upped.note);
    setWork(NONE);
  }, [childId, photoSetId, id, keep]);

  const begin = useCallback((type: string, pieces: Blob[]): Held => {
    const mine = { key: crypto.randomUUID(), type, pieces, isFinished: false };
    held.current = mine;
    setProblem(null);
    setCut(false);
    setSound(null);
    keep(() => beginKept(id, mine.key, type));
    return mine;
  }, [id, keep]);

  const record = async () => {
    if (work.at !== "none") return;
    setWork({ at: "asking" });
    // What an earlier visit left behind comes first: a new one would take its place.
    await reading.current;
    if (held.current) return;
    setProblem(null);
    let mine: Held | null = null;
    const made = await recordSound(VOICE_LIMITS.maxMs, {
      piece(piece, lengthMs) {
        if (!mine || held.current !== mine) return;
        const order = mine.pieces.push(piece);
        const { key } = mine;
        keep(() => addKept(id, key, order, piece, lengthMs));
      },
      look: (lengthMs, level) => setNow({ lengthMs, level }),
      end(lengthMs) {
        recorder.current = null;
        if (!mine || held.current !== mine) return;
        mine.isFinished = true;
        const { key } = mine;
        keep(() => finishKept(id, key, lengthMs));
        void send();
      },
    });
    if (typeof made === "string") {
      setProblem(made);
      return setWork(NONE);
    }
    mine = begin(made.type, []);
    recorder.current = made;
    setNow({ lengthMs: 0, level: 0 });
    setWork({ at: "recording" });
  };

  const choose = (file: File) => {
    const mine = begin(file.type, [file]);
    mine.isFinished = true;
    keep(() => addKept(id, mine.key, 1, file, 0));
    keep(() => finishKept(id, mine.key, 0));
    void send();
  };

  /** What is being recorded or waits to go up; with nothing of that, the note that is up. */
  const throwAway = async () => {
    if (held.current) {
      const { key } = held.current;
      held.current = null;
      recorder.current?.stop();
      keep(() => dropKept(id, key));
      setSound(null);
      return setWork(NONE);
    }
    if (await removeNote(childId, photoSetId)) setNote(null);
    else setProblem("line");
  };

  /** Leaves everything spoken out of the answer. */
  const leaveOut = () => {
    if (held.current) void throwAway();
    setNote(null);
  };

  const turn = () => {
    if (work.at === "recording") recorder.current?.pause();
    else recorder.current?.goOn();
    setWork({ at: work.at === "recording" ? "paused" : "recording" });
  };

  // What an earlier visit left behind goes on by itself.
  useEffect(() => {
    let isGone = false;
    reading.current = readKept(id).catch(() => null).then((kept) => {
      if (!kept || isGone || held.current) return;
      held.current = { key: kept.key, type: kept.type, pieces: [kept.sound], isFinished: kept.isFinished };
      void send();
    });
    return () => {
      isGone = true;
      recorder.current?.stop();
    };
  }, [id, send]);

  const isPassing = work.at === "kept" && PASSING.includes(work.refusal.code);
  useEffect(() => {
    if (!isPassing) return;
    const again = () => void send();
    const onLook = () => {
      if (document.visibilityState === "visible") again();
    };
    const timer = window.setTimeout(again, AGAIN_MS);
    window.addEventListener("online", again);
    document.addEventListener("visibilitychange", onLook);
    return () => {
      window.clearTimeout(timer);
      window.removeEventListener("online", again);
      document.removeEventListener("visibilitychange", onLook);
    };
  }, [isPassing, send]);

  const finish = () => recorder.current?.stop();
  return { note, work, now, problem, isCut, cannotKeep, sound, record, turn, finish, send, choose, throwAway, leaveOut };
}
