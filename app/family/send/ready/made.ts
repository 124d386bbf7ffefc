import type { ReadyPhoto } from "@/app/family/send/ready/ready";
import { photoAdvice, type PhotoAdvice } from "@/lib/domain/photo/advice";
import { turnedCover, unturnedCovers, type Cover, type QuarterTurns } from "@/lib/domain/photo/cover";
import type { ExifFacts } from "@/lib/domain/photo/exif-facts";
import { isMirrored, orientationOf } from "@/lib/domain/photo/orientation";
import { turnFinding, type CardFinding } from "@/lib/domain/photo/side-card";
import { parseTakenAt } from "@/lib/domain/photo/taken-at";
import type { OnPhone } from "@/lib/photos/on-phone";

/** A photo as it will leave the phone, and what is known of it here. */
export type ReadyMade = {
  readonly bytes: Blob;
  readonly src: string;
  readonly width: number;
  readonly height: number;
  readonly onPhone: OnPhone;
  readonly advice: readonly PhotoAdvice[];
  readonly takenAt: number | null;
  /** As the picture stands on the screen: turned back where the card shows it mirrored. What leaves is not; the server judges for itself. */
  readonly card: CardFinding | null;
  readonly isTurnedBack: boolean;
  /** Quarters clockwise by which it was turned here, of the picture as it came. */
  readonly turns: QuarterTurns;
  /** What was covered, where it lies in the picture as it came. */
  readonly covers: readonly Cover[];
  /** Made again, turned on the screen by quarters, clockwise. */
  readonly turned: (quarters: 1 | 2 | 3) => Promise<ReadyMade>;
  /** Made again without its covers. */
  readonly uncovered: () => Promise<ReadyMade>;
  readonly close: () => void;
};

/** Rejects when the picture cannot be drawn: a covered part must never go as it was. */
export async function madeReady(ready: ReadyPhoto, file: File, turns: QuarterTurns, covers: readonly Cover[]): Promise<ReadyMade> {
  const { card, facts, measures, size } = ready.opened;
  const bytes = new Blob([await ready.render(turns, covers)], { type: "image/jpeg" });
  const src = URL.createObjectURL(bytes);
  const isTurnedBack = card?.found === "one" && card.reading.mirrored;
  // Turning a picture and then flipping it is flipping it and then turning it the other way.
  const onScreen = (quarters: number) => ((isTurnedBack ? 4 - quarters : quarters) % 4) as QuarterTurns; // a remainder of four
  const shown = onScreen(turns);
  return {
    bytes, src, isTurnedBack, turns, covers: unturnedCovers(covers, turns), takenAt: instantTaken(facts),
    ...(turns % 2 === 1 ? { width: size.height, height: size.width } : size),
    onPhone: { originalBytes: file.size, ...takenOf(facts), isMirrored: isMirrored(orientationOf(facts.orientation)), isCovered: covers.length > 0 },
    advice: photoAdvice({ ...measures, ...size }),
    card: card && shown !== 0 ? turnFinding(card, shown) : card,
    turned: async (quarters) => {
      const by = onScreen(quarters);
      const next = await madeReady(ready, file, ((turns + by) % 4) as QuarterTurns, covers.map((cover) => Array.from({ length: by }).reduce<Cover>(turnedCover, cover))); // a remainder of four
      URL.revokeObjectURL(src);
      return next;
    },
    uncovered: async () => {
      const next = await madeReady(ready, file, turns, []);
      URL.revokeObjectURL(src);
      return next;
    },
    close: () => {
      URL.revokeObjectURL(src);
      ready.close();
    },
  };
}

/** Only what has the shape of a time: the rest of what a camera may write there stays on the phone. */
function takenOf({ takenAt, offset }: ExifFacts): Pick<OnPhone, "taken" | "offset"> {
  return {
    taken: /^\d{4}:\d\d:\d\d \d\d:\d\d:\d\d/.exec(takenAt ?? "")?.[0] ?? null,
    offset: /^[+-]\d\d:\d\d/.exec(offset ?? "")?.[0] ?? null,
  };
}

/** A camera's clock without a zone is read as this phone's: it only decides whether the parent is asked. */
function instantTaken({ takenAt, offset }: ExifFacts): number | null {
  const taken = parseTakenAt(takenAt ?? undefined, offset ?? undefined);
  if (!taken || taken.zoneKnown) return taken?.at ?? null;
  return taken.at + new Date(taken.at).getTimezoneOffset() * 60_000;
}
