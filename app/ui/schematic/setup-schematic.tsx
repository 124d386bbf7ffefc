import { useId } from "react";
import { SETUP_BOX, setupDrawing } from "@/app/ui/schematic/setup-geometry";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import styles from "@/app/ui/schematic/schematic.module.css";

export type SetupLabel = {
  readonly title: string;
  readonly desc: string;
  /** The side down and the side up, with the child's own side in capitals: "down: LEFT", "up: RIGHT". */
  readonly down: string;
  readonly up: string;
  /** Shown beside the ribs that widen, when the set-up names a side: "breathe: LEFT". */
  readonly breathe?: string;
};

/** Words have room for as many letters as the English ones; longer ones are set smaller, so that no side is cut off or covered. */
const sizeOf = (word: string, size: number, letters: number): number => Math.min(size, Math.floor((size * letters) / word.length));

/** A resolved set-up as a side-lying figure, back to the viewer. All words come from the caller. */
export function SetupSchematic({ label, ...setup }: SetupSides & { readonly label: SetupLabel }) {
  const id = useId();
  const isOnHip = setup.topArm.position === "on-hip";
  const drawing = setupDrawing(setup);
  const { half, top, height } = SETUP_BOX;
  const limbs = (paths: readonly string[]) => (
    <>
      {paths.map((path) => <path key={`edge${path}`} className={styles.limbEdge} d={path} />)}
      {paths.map((path) => <path key={path} className={styles.limb} d={path} />)}
    </>
  );
  return (
    <svg
      className={styles.setup}
      viewBox={`${-half} ${top} ${2 * half} ${height}`}
      role="img"
      aria-labelledby={`${id}title ${id}desc`}
      direction="ltr"
      data-head-end={drawing.headEnd}
    >
      <title id={`${id}title`}>{label.title}</title>
      <desc id={`${id}desc`}>{label.desc}</desc>
      <path className={styles.mat} d={drawing.mat} />
      <path className={styles.floor} d={drawing.floor} />
      {limbs(drawing.bottomArm)}
      {limbs(drawing.bottomLeg)}
      {isOnHip ? null : limbs(drawing.topArm)}
      <path className={styles.limbEdge} d={drawing.neck} />
      <path className={styles.limb} d={drawing.neck} />
      {drawing.prop.map((part) => <path key={part} className={styles.prop} d={part} />)}
      <path className={styles.figure} d={drawing.topFoot} />
      <path className={styles.figure} d={drawing.trunk} />
      <path className={styles.hair} d={drawing.head} />
      {drawing.strands.map((strand) => <path key={strand} className={styles.strand} d={strand} />)}
      <path className={styles.bone} d={drawing.blade} />
      <path className={styles.bone} d={drawing.spine} />
      {drawing.ticks.map((tick) => <path key={tick} className={styles.bone} d={tick} />)}
      {drawing.breath.map((ray) => <path key={ray} className={styles.breath} d={ray} />)}
      {isOnHip ? limbs(drawing.topArm) : null}
      <text className={styles.word} fontSize={sizeOf(label.up, 33, 11)} x={drawing.words.up.x} y={drawing.words.up.y} textAnchor={drawing.words.anchor}>{label.up}</text>
      <text className={styles.word} fontSize={sizeOf(label.down, 33, 11)} x={drawing.words.down.x} y={drawing.words.down.y} textAnchor={drawing.words.anchor}>{label.down}</text>
      {setup.breatheInto && label.breathe ? (
        <text className={styles.small} fontSize={sizeOf(label.breathe, 27, 14)} x={drawing.words.breath.x} y={drawing.words.breath.y} textAnchor={drawing.words.anchor}>{label.breathe}</text>
      ) : null}
    </svg>
  );
}
