import type { GoAheadFacts } from "@/lib/domain/setup/go-ahead-facts";
import { PHASES, type GoAheadState, type Phase, type Verdict } from "@/lib/domain/setup/vocabulary";

/**
 * A plain re-statement of PRODUCT.md section 3, "The go-ahead". It shares no code with the product:
 * it remembers what has happened as it happens and never looks at a list of verdicts.
 */
export type Rule = { phase: Phase; required: boolean; stop: boolean; sided: boolean };
type Look = { at: number; seen: number; by: Verdict };
type Memory = { newest: Verdict | null; hadInPlace: boolean; looks: Look[]; openStops: Look[]; everStop: boolean };

export class Model {
  now: number;
  items = new Map<string, Rule>();
  memory = new Map<string, Memory>();
  hasSetup = false;
  confirmed = false;
  setupRecord = "";
  coverageRefused = false;
  phases: Phase[] = [];
  sides: string | null = null;
  record: { id: string; end: number | null } | null = null;
  refused = false;
  opened = new Map<Phase, number>();
  symptoms = new Set<string>();
  staff = new Map<string, boolean>();
  weeks = 8;

  constructor(now: number) {
    this.now = now;
  }

  remember(key: string): Memory {
    const known = this.memory.get(key);
    if (known) return known;
    const fresh: Memory = { newest: null, hadInPlace: false, looks: [], openStops: [], everStop: false };
    this.memory.set(key, fresh);
    return fresh;
  }

  judge(key: string, verdict: Verdict, stop: boolean, seen: number | null): void {
    const mind = this.remember(key);
    mind.everStop ||= stop;
    if (verdict === "not-visible") return;
    if (stop && verdict === "not-part") return;
    const trusted = seen === null || seen > this.now ? null : seen;
    if (verdict === "in-place" && mind.openStops.length > 0) {
      const newestStop = Math.max(...mind.openStops.map((look) => look.at));
      if (trusted === null || trusted <= newestStop) return;
      mind.openStops = [];
    }
    mind.newest = verdict;
    if (verdict === "not-part") return;
    const look = { at: this.now, seen: trusted ?? this.now, by: verdict };
    mind.looks.push(look);
    if (verdict === "in-place") mind.hadInPlace = true;
    if (verdict === "fix" && stop) mind.openStops.push(look);
  }

  confirm(sides: string, items: Map<string, Rule>): void {
    const turned = this.sides !== null && this.sides !== sides;
    this.sides = sides;
    this.items = items;
    if (!turned) return;
    for (const [key, mind] of this.memory) {
      if (unsided.has(key)) continue;
      mind.looks = [...mind.openStops];
      mind.newest = mind.openStops.length > 0 ? "fix" : null;
      mind.hadInPlace = false;
    }
  }

  /** Every reason as `code` or `code:item`. */
  reasons(phase: Phase): Set<string> {
    const found = new Set<string>();
    for (const id of this.symptoms) found.add(id.startsWith("urgent") ? "symptom-urgent" : "symptom-today");
    if ([...this.staff.values()].some((ours) => ours)) found.add("staff-stop");
    for (const [key, mind] of this.memory) if (mind.openStops.length > 0) found.add(`stop-item-fix:${key}`);
    if (this.refused || (this.hasSetup && this.coverageRefused)) found.add("not-covered");
    if (!this.record) found.add("no-record");
    if (this.record && this.record.end !== null && this.now >= this.record.end) found.add("reassessment-past");
    if (this.record && this.hasSetup && this.record.id !== this.setupRecord) found.add("record-changed");
    if (!this.hasSetup || !this.confirmed) found.add("setup-not-confirmed");
    const exists = this.hasSetup && this.phases.includes(phase);
    if (this.hasSetup && !exists) found.add("phase-absent");
    else if (!this.opened.has(phase)) found.add("phase-not-opened");
    if (exists) this.photoReasons(phase, found);
    if (found.size === 0) found.add("all-in-place");
    return found;
  }

  photoReasons(phase: Phase, found: Set<string>): void {
    const looks: Look[] = [];
    for (const [key, rule] of this.items) {
      if (PHASES.indexOf(rule.phase) > PHASES.indexOf(phase)) continue;
      const mind = this.remember(key);
      looks.push(...mind.looks);
      if (rule.stop && !mind.hadInPlace) found.add(`stop-item-never-in-place:${key}`);
      if (rule.required && mind.newest !== "not-part" && mind.looks.length === 0) found.add(`required-never-judged:${key}`);
      if (!rule.stop && mind.newest === "fix") found.add(`item-fix:${key}`);
    }
    const opened = this.opened.get(phase);
    if (phase !== "position" && opened !== undefined && !looks.some((look) => look.at > opened && look.seen > opened)) {
      found.add("phase-never-photographed");
    }
    const last = Math.max(-Infinity, ...looks.map((look) => look.at));
    if (this.now - last >= this.weeks * 7 * 86_400_000) found.add("nothing-judged-lately");
  }

  state(phase: Phase): GoAheadState {
    const found = [...this.reasons(phase)].map((reason) => reason.split(":")[0] ?? "");
    const any = (...codes: string[]) => codes.some((code) => found.includes(code));
    if (any("symptom-urgent", "symptom-today", "staff-stop", "stop-item-fix")) return "stop";
    if (any("no-record", "reassessment-past", "record-changed", "setup-not-confirmed", "not-covered")) return "not-yet";
    if (any("phase-absent", "phase-not-opened")) return "not-yet";
    if (any("stop-item-never-in-place", "required-never-judged")) return "photo-first";
    if (any("phase-never-photographed", "nothing-judged-lately")) return "photo-first";
    return any("item-fix") ? "go-and-fix" : "go";
  }
}

/** The one item of the scene that is the same whichever side the child lies on. */
const unsided = new Set(["head-in-line"]);

export type Run = { model: Model; facts: { -readonly [K in keyof GoAheadFacts]: GoAheadFacts[K] } };
