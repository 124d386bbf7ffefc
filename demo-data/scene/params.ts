import type { Side } from "@/lib/domain/sides";

/**
 * What to draw. `lieOn` is the child's own side, as ever; where the head comes out in the picture
 * follows from it, so no parameter can ask for a body that does not exist. `mirror` flips the
 * finished picture, as some front cameras do.
 */
export type SceneParams = {
  readonly lieOn: Side;
  readonly view?: "behind" | "front" | "head-end";
  readonly mirror?: boolean;
  /** Picks skin, hair, clothes and room. */
  readonly seed?: number;
  /** 0 under the low back; as a share of trunk length, positive toward the head, negative toward the feet. */
  readonly propOffset?: number;
  readonly propCount?: number;
  readonly topArm?: "up" | "on-hip";
  /** 0 low in front, 1 high. */
  readonly elbowHeight?: number;
  /** 0 closed (the arm comes forward), 1 open (the arm opens toward the head). */
  readonly armpitOpen?: number;
  /** Degrees at the elbow of the arm on the floor; 0 is long. */
  readonly bottomArmBend?: number;
  /** Degrees at the knee of the leg below; 0 is straight. */
  readonly kneeBend?: number;
  /** Degrees of the top leg above level, and degrees at its knee. */
  readonly topLegLift?: number;
  readonly topKneeBend?: number;
  /** Shoulders rolled forward, 0 stacked to 1. */
  readonly rolled?: number;
  /** Head hanging out of line toward the floor, 0 to 1. */
  readonly headDrop?: number;
  /** Camera roll in degrees, positive turns the picture clockwise. */
  readonly tilt?: number;
  /** 0 dark, 0.7 a day room, 1 burnt out. */
  readonly light?: number;
  /** Blur radius as a share of the picture's width; 0.004 is a shaken hand. */
  readonly blur?: number;
  /** Where the light comes from; otherwise by seed. */
  readonly windowAt?: Side;
  /** Picture size in pixels; 4:3 unless asked otherwise. */
  readonly width?: number;
  readonly height?: number;
  readonly colours?: Partial<Colours>;
  /** Metadata a phone would add. Without it the file has none. */
  readonly phone?: Phone;
};

export type Phone = {
  /** EXIF orientation 1 to 8: the pixels are stored so that applying it gives the upright picture. */
  readonly orientation?: number;
  /** As EXIF writes it, "2026:03:03 16:20:00", with its offset from UTC. */
  readonly takenAt?: string;
  readonly offset?: string;
  /** Degrees north and east. */
  readonly gps?: { readonly latitude: number; readonly longitude: number };
};

export type Colours = {
  readonly skin: string;
  readonly hair: string;
  readonly top: string;
  readonly leggings: string;
  readonly wall: string;
  readonly skirting: string;
  readonly floor: string;
  readonly mat: string;
  readonly prop: string;
  readonly plant: string;
};

export const HAIR_STYLES = ["short", "bob", "tail", "bun"] as const;
export type HairStyle = (typeof HAIR_STYLES)[number];

export type Scene = Required<Omit<SceneParams, "phone" | "colours">> & {
  readonly colours: Colours;
  readonly hairStyle: HairStyle;
};

/** Skin with hair that stands off from it. */
const PEOPLE = [
  ["#e9bd9c", "#5a3522"],
  ["#f0cdb2", "#a8743c"],
  ["#d9a07a", "#2b2224"],
  ["#bd825a", "#241d20"],
  ["#9a6242", "#1f191c"],
  ["#7d4c35", "#1a1619"],
  ["#eec4a6", "#8a4b2b"],
] as const;
/** Close-fitting tops with leggings that stand off from them, from the prop and from every mat. */
const CLOTHES = [
  ["#c4685a", "#3d4a63"],
  ["#4f8077", "#2f3f4f"],
  ["#d39a45", "#4a4562"],
  ["#6f6fa5", "#35414a"],
  ["#a85a76", "#40505c"],
  ["#5b87a8", "#4b3f4f"],
] as const;
const ROOMS = [
  { wall: "#e7dccb", skirting: "#f6f0e4", floor: "#b98e66", mat: "#8fa79b", plant: "#5d7d5a" },
  { wall: "#d5dcd6", skirting: "#f1f3ec", floor: "#a98162", mat: "#c9b79c", plant: "#4f7561" },
  { wall: "#ead3c4", skirting: "#f8ece2", floor: "#94705a", mat: "#7f93a8", plant: "#6c8150" },
  { wall: "#d6d8e0", skirting: "#f2f2f4", floor: "#bb9b78", mat: "#a38f9f", plant: "#56786b" },
  { wall: "#e9e0b9", skirting: "#faf5df", floor: "#9f7955", mat: "#8d9fb0", plant: "#64804f" },
] as const;
const PROPS = ["#f3cf6b", "#f6f1e6", "#d9583c", "#2f7f86"] as const;

/** Every choice made: what was asked, else what the seed gives, else a set-up as it is taught. */
export function sceneOf(params: SceneParams): Scene {
  const pick = picker(params.seed ?? 1);
  const [top, leggings] = pick(CLOTHES);
  const [skin, hair] = pick(PEOPLE);
  const room = pick(ROOMS);
  const colours = { skin, hair, top, leggings, ...room, prop: farthestFrom([room.mat, top, leggings, skin]) };
  const hairStyle = pick(HAIR_STYLES);
  const windowAt = pick(["left", "right"] as const);
  const width = params.width ?? 1600;
  return {
    lieOn: params.lieOn,
    view: params.view ?? "behind",
    mirror: params.mirror ?? false,
    seed: params.seed ?? 1,
    propOffset: params.propOffset ?? 0,
    propCount: params.propCount ?? 2,
    topArm: params.topArm ?? "up",
    elbowHeight: params.elbowHeight ?? 1,
    armpitOpen: params.armpitOpen ?? 1,
    bottomArmBend: params.bottomArmBend ?? 0,
    kneeBend: params.kneeBend ?? 80,
    topLegLift: params.topLegLift ?? 0,
    topKneeBend: params.topKneeBend ?? 0,
    rolled: params.rolled ?? 0,
    headDrop: params.headDrop ?? 0,
    tilt: params.tilt ?? 0,
    light: params.light ?? 0.7,
    blur: params.blur ?? 0,
    windowAt: params.windowAt ?? windowAt,
    width,
    height: params.height ?? Math.round((width * 3) / 4),
    colours: { ...colours, ...params.colours },
    hairStyle,
  };
}

/** The bags must be the easiest thing to find in the picture. */
function farthestFrom(others: readonly string[]): string {
  const apart = (a: string, b: string) => Math.hypot(...[1, 3, 5].map((at) => Number.parseInt(a.slice(at, at + 2), 16) - Number.parseInt(b.slice(at, at + 2), 16)));
  const nearest = (colour: string) => Math.min(...others.map((other) => apart(colour, other)));
  return PROPS.reduce((best: string, next) => (nearest(next) > nearest(best) ? next : best), PROPS[0]);
}

/** Picks by seed, always the same; a small multiplicative generator is ample for colours. */
export function picker(seed: number): <const From extends readonly [unknown, ...unknown[]]>(from: From) => From[number] {
  let state = Math.imul(Math.trunc(seed) + 11, 0x9e3779b1) >>> 0;
  state = Math.imul(state ^ (state >>> 16), 0x45d9f3b) >>> 0;
  return (from) => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    const share = ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
    return from[Math.floor(share * from.length)] ?? from[0];
  };
}
