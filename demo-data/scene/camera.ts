import type { Scene } from "@/demo-data/scene/params";
import { radians, type Body, type Camera, type Spot } from "@/demo-data/scene/space";
import { opposite, type Side } from "@/lib/domain/sides";

/** All drawing happens on a sheet this large around its centre, whatever the picture's own size. */
export const SHEET = { width: 1600, height: 1200 } as const;

/** A point of the room: `x` right and `z` toward the camera, in body heights; `y` up from the floor. */
export type Place = { readonly x: number; readonly y: number; readonly z: number };

/**
 * Where the head comes out in the picture, before any mirroring. Seen from behind, a child's left
 * is picture left when upright; lying down on the left side, the head falls to picture left.
 * Seen from the front it is the other way round.
 */
export function headEndOf(scene: Pick<Scene, "lieOn" | "view">): Side | null {
  if (scene.view === "head-end") return null;
  return scene.view === "behind" ? scene.lieOn : opposite(scene.lieOn);
}

/** Looking from the head toward the feet: where the front of the body points, before mirroring. */
export const frontAtOf = (scene: Pick<Scene, "lieOn" | "view">): Side | null => (scene.view === "head-end" ? scene.lieOn : null);

/** From the child's own space into the room. */
export function placeOf(scene: Scene, { s, y, p }: Body): Place {
  if (scene.view === "head-end") return { x: frontAtOf(scene) === "right" ? p - 0.08 : 0.08 - p, y, z: -s + 0.1 };
  const x = s - 0.445;
  return { x: headEndOf(scene) === "left" ? x : -x, y, z: scene.view === "front" ? p : -p };
}

const LENSES = {
  side: { pitch: 13, distance: 3.1, scale: 1215, centre: { x: 800, y: 868 } },
  headEnd: { pitch: 21, distance: 1.9, scale: 1980, centre: { x: 800, y: 900 } },
} as const;

/** How a place in the room comes onto the sheet: a camera at trunk height, looking a little down. */
export function lensOf(scene: Scene): { readonly spot: (place: Place) => Spot; readonly scale: (place: Place) => number } {
  const { pitch, distance, scale, centre } = LENSES[scene.view === "head-end" ? "headEnd" : "side"];
  const [sin, cos] = [Math.sin(radians(pitch)), Math.cos(radians(pitch))];
  const depth = ({ y, z }: Place) => distance / (distance - (z * cos + y * sin));
  return {
    spot: (place) => {
      const near = depth(place) * scale;
      return { x: centre.x + place.x * near, y: centre.y - (place.y * cos - place.z * sin) * near };
    },
    scale: (place) => depth(place) * scale,
  };
}

export function cameraOf(scene: Scene): Camera {
  const lens = lensOf(scene);
  return { spot: (at) => lens.spot(placeOf(scene, at)), scale: (at) => lens.scale(placeOf(scene, at)) };
}

/** From the sheet to fractions of the finished upright picture: tilt, then crop, then mirroring. */
export function toPhoto(scene: Scene, { x, y }: Spot): { readonly x: number; readonly y: number } {
  const angle = radians(scene.tilt);
  const [dx, dy] = [x - SHEET.width / 2, y - SHEET.height / 2];
  const { width, height } = frameOf(scene);
  const across = (dx * Math.cos(angle) - dy * Math.sin(angle)) / width + 0.5;
  const down = (dx * Math.sin(angle) + dy * Math.cos(angle)) / height + 0.5;
  return { x: scene.mirror ? 1 - across : across, y: down };
}

/** The part of the sheet that the picture shows; a tall picture shows more wall and floor. */
export const frameOf = ({ width, height }: Pick<Scene, "width" | "height">) => ({
  width: SHEET.width,
  height: (SHEET.width * height) / width,
});
