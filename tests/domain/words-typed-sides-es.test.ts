import { describe, expect, it } from "vitest";
import { mirrorSetup, type SetupSides } from "@/lib/domain/setup/setup-sides";
import { checkCue } from "@/lib/domain/words/check-cue";
import { namesSide, typedSides } from "@/lib/domain/words/typed-sides";

/** Lumbar convex left, thoracic convex right: lies on the left, top arm and leg right, breath left (PRODUCT, section 3). */
const LEFT: SetupSides = {
  lieOn: "left", prop: { kind: "two-small-bags", side: "left", place: "low-back" },
  topArm: { side: "right", position: "up" }, bottomArm: { side: "left", position: "long-palm-down" },
  topLeg: { side: "right", position: "straight" }, bottomLeg: { side: "left", position: "knee-bent" }, breatheInto: { side: "left" },
};
const read = (text: string, setup = LEFT) => typedSides(text, setup).map(({ side, about, agrees }) => [side, about, agrees]);

describe("sides typed in Spanish", () => {
  it.each([
    ["Túmbese sobre el lado izquierdo.", "lie"], ["Acuéstese del lado izquierdo.", "lie"],
    ["Brazo de arriba (derecho): en alto.", "arm"], ["Levante el codo derecho de arriba.", "arm"], ["El brazo de abajo, el izquierdo", "arm"],
    ["Estire la pierna de arriba (derecha).", "leg"], ["Doble la rodilla izquierda.", "leg"],
    ["Ponga los saquitos debajo del lado izquierdo.", "prop"], ["Ensanche las costillas del lado izquierdo.", "breath"],
  ])("%s", (text, about) => {
    const [first] = read(text);
    expect(first?.slice(1)).toEqual([about, true]);
    expect(read(text, mirrorSetup(LEFT)).map(([, , agrees]) => agrees)).toEqual([false]);
    expect(namesSide(text)).toBe(true);
  });

  it("leaves what may mean otherwise to be looked at, and never calls it right", () => {
    for (const text of [
      "No se tumbe sobre el lado derecho.", "En la foto está tumbada sobre el lado izquierdo.", "Mueva los saquitos a la izquierda.",
      "Mantenga la espalda derecha.", "Siéntese derecho.", "izq.", "La mano derecha.",
    ]) expect(read(text).map(([, , agrees]) => agrees), text).toEqual(["cannot-tell"]);
  });

  it("names no side where there is none", () => {
    for (const text of ["Levante el codo.", "Respire despacio.", "El apoyo debajo de la espalda."]) expect(namesSide(text), text).toBe(false);
  });

  it("is refused in a cue: it would be wrong for the mirror image", () => {
    for (const text of ["Túmbese sobre el lado izquierdo.", "Levante el brazo DERECHO.", "Gire a la izda. un poco.", "Mano dcha. arriba"]) {
      expect(checkCue(text, []), text).toMatchObject({ ok: false, problem: { code: "cue-side-typed" } });
    }
    expect(checkCue("Túmbese sobre el lado {side down}.", [LEFT]).ok).toBe(true);
  });
});
