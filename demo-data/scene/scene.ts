import sharp, { type Sharp } from "sharp";
import { cameraOf, frameOf, frontAtOf, headEndOf, SHEET, toPhoto } from "@/demo-data/scene/camera";
import { figureSvg } from "@/demo-data/scene/figure";
import { sceneOf, type Phone, type Scene, type SceneParams } from "@/demo-data/scene/params";
import { poseOf, type Angles, type Joints } from "@/demo-data/scene/pose";
import { roomSvg } from "@/demo-data/scene/room";
import { opposite, type Side } from "@/lib/domain/sides";

/** Fractions of the upright picture, y downward. */
export type PhotoSpot = { readonly x: number; readonly y: number };

/** What the picture really shows, for tests and for the seed's own answers. */
export type SceneTruth = {
  /** The child's own side on the mat. */
  readonly sideDown: Side;
  readonly facing: "back" | "front" | null;
  /** Where the head lies in the finished picture; null from the head end. */
  readonly headEnd: Side | null;
  /** From the head end: where the front of the body points in the finished picture. */
  readonly frontAt: Side | null;
  readonly mirrored: boolean;
  readonly tilt: number;
  readonly points: Readonly<Record<"head" | "shoulder" | "elbow" | "apex" | "prop" | "hip" | "knee" | "topKnee", PhotoSpot>>;
  readonly angles: Angles;
};

export type RenderedScene = { readonly jpeg: Buffer; readonly truth: SceneTruth };

/**
 * Draws one set-up photo as a JPEG of our own making, the same bytes for the same parameters and
 * the same sharp. Throws a RangeError for an EXIF orientation outside 1 to 8.
 */
export async function renderScene(params: SceneParams): Promise<RenderedScene> {
  const pixels = await drawScene(params);
  const jpeg = await asPhone(pixels, params.phone).jpeg({ quality: 88, chromaSubsampling: "4:4:4" }).toBuffer();
  return { jpeg, truth: truthOf(params) };
}

/** The picture itself, upright, to be written as whatever is wanted. */
export async function drawScene(params: SceneParams): Promise<Sharp> {
  const scene = sceneOf(params);
  const drawn = sharp(Buffer.from(sceneSvg(params)), { density: 72 }).resize(scene.width, scene.height, { fit: "fill" }).removeAlpha();
  const lit = exposed(scene.blur > 0 ? drawn.blur(Math.max(0.3, scene.blur * scene.width)) : drawn, scene.light);
  const { data, info } = await lit.raw().toBuffer({ resolveWithObject: true });
  return sharp(data, { raw: { width: info.width, height: info.height, channels: info.channels } });
}

export function sceneTruth(params: SceneParams): SceneTruth {
  return truthOf(params);
}

function truthOf(params: SceneParams): SceneTruth {
  const scene = sceneOf(params);
  const { joints, angles } = poseOf(scene);
  const camera = cameraOf(scene);
  const spot = (name: Exclude<keyof Joints, "surface">) => toPhoto(scene, camera.spot(joints[name]));
  const turned = (side: Side | null) => (side !== null && scene.mirror ? opposite(side) : side);
  const fromFront = scene.view === "front";
  return {
    sideDown: scene.lieOn,
    facing: scene.view === "head-end" ? null : fromFront ? "front" : "back",
    headEnd: turned(headEndOf(scene)),
    frontAt: turned(frontAtOf(scene)),
    mirrored: scene.mirror,
    tilt: scene.tilt,
    points: {
      head: spot("head"),
      shoulder: spot("shoulder"),
      elbow: spot("elbow"),
      apex: spot(fromFront ? "apexFront" : "apexBack"),
      prop: toPhoto(scene, camera.spot({ ...joints.prop, p: fromFront ? 0.14 : -0.14 })),
      hip: spot("hip"),
      knee: spot("knee"),
      topKnee: spot("topKnee"),
    },
    angles,
  };
}

/** The whole drawing as SVG, at the picture's own pixel size. */
export function sceneSvg(params: SceneParams): string {
  const scene = sceneOf(params);
  const { width, height } = frameOf(scene);
  const [left, top] = [(SHEET.width - width) / 2, (SHEET.height - height) / 2];
  const flip = scene.mirror ? `transform="translate(${SHEET.width} 0) scale(-1 1)"` : "";
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${scene.width}" height="${scene.height}" viewBox="${left} ${top} ${width} ${height}">`,
    `<defs><filter id="soft" x="-10%" y="-40%" width="120%" height="180%"><feGaussianBlur stdDeviation="11"/></filter></defs>`,
    `<g ${flip}><g transform="rotate(${scene.tilt} ${SHEET.width / 2} ${SHEET.height / 2})">`,
    roomSvg(scene),
    figureSvg(scene, poseOf(scene)),
    "</g></g></svg>",
  ].join("");
}

/** Dims below a day room's 0.7, burns out above it. */
function exposed(picture: Sharp, light: Scene["light"]): Sharp {
  if (light === 0.7) return picture;
  return light < 0.7 ? picture.linear(Math.max(0.04, light / 0.7), 0) : picture.linear(1 + (light - 0.7) * 1.2, (light - 0.7) * 300);
}

/** How the upright picture must be turned to be stored under each EXIF orientation (CIPA DC-008, tag 274). */
const STORED: Readonly<Record<number, { readonly flop?: true; readonly turn: number }>> = {
  1: { turn: 0 },
  2: { flop: true, turn: 0 },
  3: { turn: 180 },
  4: { flop: true, turn: 180 },
  5: { flop: true, turn: 270 },
  6: { turn: 270 },
  7: { flop: true, turn: 90 },
  8: { turn: 90 },
};

function asPhone(picture: Sharp, phone: Phone | undefined): Sharp {
  if (!phone) return picture;
  const orientation = phone.orientation ?? 1;
  const stored = STORED[orientation];
  if (!stored) throw new RangeError("EXIF orientation is 1 to 8.");
  const turned = (stored.flop ? picture.flop() : picture).rotate(stored.turn);
  return turned.withMetadata({ orientation }).withExif({
    IFD0: { Make: "Demo", Model: "Scene" },
    IFD2: phone.takenAt ? { DateTimeOriginal: phone.takenAt, ...(phone.offset ? { OffsetTimeOriginal: phone.offset } : {}) } : {},
    ...(phone.gps ? { IFD3: gpsTags(phone.gps) } : {}),
  });
}

function gpsTags({ latitude, longitude }: { readonly latitude: number; readonly longitude: number }) {
  const parts = (angle: number) => {
    const all = Math.round(Math.abs(angle) * 3_600_00);
    return `${Math.floor(all / 360_000)}/1 ${Math.floor((all % 360_000) / 6000)}/1 ${all % 6000}/100`;
  };
  return {
    GPSLatitudeRef: latitude < 0 ? "S" : "N",
    GPSLatitude: parts(latitude),
    GPSLongitudeRef: longitude < 0 ? "W" : "E",
    GPSLongitude: parts(longitude),
  };
}
