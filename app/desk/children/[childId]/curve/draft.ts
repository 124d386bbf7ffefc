import type { Confirmations, CurveRecordDraft, FindingDraft } from "@/lib/domain/curve/check-record";
import { FILM_VIEWS, PROMINENCES, SOURCES } from "@/lib/domain/curve/record";
import { REGIONS, type Region } from "@/lib/domain/curve/region";
import { SIDES, type Side } from "@/lib/domain/sides";

/** The editor's fields as the form sends them. One reader for the browser's drawing and the server's check. */
export type Fields = Readonly<Record<string, string>>;

export const FINDINGS = ["left", "right", "none", "not-assessed"] as const;

const one = <T extends string>(list: readonly T[], value: string | undefined): T | null => list.find((each) => each === value) ?? null;

/** Nothing is filled in: what was not said stays null, and the check refuses it. */
export function draftOf(fields: Fields): CurveRecordDraft {
  return {
    assessedOn: fields["assessedOn"] ?? "",
    source: one(SOURCES, fields["source"]),
    filmViewedFrom: one(FILM_VIEWS, fields["film"]),
    regions: {
      "proximal-thoracic": findingOf(fields, "proximal-thoracic"),
      thoracic: findingOf(fields, "thoracic"),
      thoracolumbar: findingOf(fields, "thoracolumbar"),
      lumbar: findingOf(fields, "lumbar"),
    },
    prominence: { ribs: one(PROMINENCES, fields["ribs"]), lowBack: one(PROMINENCES, fields["lowBack"]) },
    reassessBy: fields["reassessBy"] ? fields["reassessBy"] : null,
    therapistCounts: REGIONS.filter((region) => fields[`${region}-counts`] === "yes"),
  };
}

function findingOf(fields: Fields, region: Region): FindingDraft | null {
  const found = one(FINDINGS, fields[`${region}-is`]);
  if (found === null || found === "none" || found === "not-assessed") return found && { state: found };
  return { state: "curve", convexSide: found, apex: fields[`${region}-apex`] ?? "", cobbDegrees: degreesOf(fields[`${region}-cobb`] ?? "") };
}

/** Null for an empty field; NaN, which every check refuses, for what is no angle. */
function degreesOf(typed: string): number | null {
  const plain = typed.trim().replace(",", ".").replace("°", "");
  if (plain === "") return null;
  return /^\d{1,3}(\.\d{1,2})?$/.test(plain) ? Number(plain) : Number.NaN;
}

export function saidOf(fields: Fields): Confirmations {
  return {
    readBack: sidesOf(fields, "again"),
    onPicture: sidesOf(fields, "picture"),
    acknowledged: Object.keys(fields).filter((name) => name.startsWith("ack:") && fields[name] === "yes").map((name) => name.slice(4)),
  };
}

function sidesOf(fields: Fields, kind: "again" | "picture"): Partial<Record<Region, Side>> {
  return Object.fromEntries(REGIONS.flatMap((region) => {
    const side = one(SIDES, fields[`${region}-${kind}`]);
    return side ? [[region, side]] : [];
  }));
}

export type Step = "entry" | "read-back" | "second-look";

/** Which step shows after the server's answer; a problem with the entry itself shows the entry. */
export function stepOf(problem: string | null): Step {
  if (problem === "curve-under-threshold" || problem === "side-not-read-back" || problem === "picture-side-disagree") return "read-back";
  return problem === "prominence-disagree" || problem === "uncommon-unconfirmed" ? "second-look" : "entry";
}
