import { useId } from "react";
import { SPINE_BOX, spineDrawing, type DrawnCurve } from "@/app/ui/schematic/spine-geometry";
import type { Side } from "@/lib/domain/sides";
import styles from "@/app/ui/schematic/schematic.module.css";

export type SpineLabel = {
  readonly title: string;
  readonly desc: string;
  /** One letter each, "L" and "R". */
  readonly letters: Readonly<Record<Side, string>>;
  /** In capitals, "LEFT" and "RIGHT": the child's own. */
  readonly words: Readonly<Record<Side, string>>;
};

/** A curve record as a spine seen from behind. All words come from the caller. */
export function SpineSchematic({ curves, label }: { readonly curves: readonly DrawnCurve[]; readonly label: SpineLabel }) {
  const id = useId();
  const drawing = spineDrawing(curves);
  const { half, top, height } = SPINE_BOX;
  return (
    <svg
      className={styles.spine}
      viewBox={`${-half} ${top} ${2 * half} ${height}`}
      role="img"
      aria-labelledby={`${id}title`}
      aria-describedby={`${id}desc`}
      direction="ltr"
    >
      <title id={`${id}title`}>{label.title}</title>
      <desc id={`${id}desc`}>{label.desc}</desc>
      <path className={styles.back} d={drawing.back} />
      {drawing.ribs.map((rib) => <path key={rib} className={styles.bone} d={rib} />)}
      {drawing.pelvis.map((part) => <path key={part} className={styles.bone} d={part} />)}
      {drawing.vertebrae.map(({ name, block, tick, isApex }) => (
        <g key={name} data-vertebra={name}>
          <path className={isApex ? styles.apexVertebra : styles.vertebra} d={block} />
          <path className={styles.tick} d={tick} />
        </g>
      ))}
      <path className={styles.line} d={drawing.spine} data-part="spine" />
      {drawing.bulges.map(({ side, apex, at, leader, word }) => (
        <g key={`${side}${at.y}`} data-side={side}>
          <path className={styles.leader} d={leader} />
          {apex === null ? null : <circle className={styles.apex} cx={at.x} cy={at.y} r={12} />}
          <text className={styles.word} fontSize={20} x={word.x} y={word.y + 6} textAnchor={side === "left" ? "end" : "start"}>{label.words[side]}</text>
          {apex === null ? null : (
            <text className={styles.small} fontSize={17} x={word.x} y={word.y + 25} textAnchor={side === "left" ? "end" : "start"}>{apex}</text>
          )}
        </g>
      ))}
      <text className={styles.letter} fontSize={30} x={-(half - 24)} y={22} textAnchor="middle">{label.letters.left}</text>
      <text className={styles.letter} fontSize={30} x={half - 24} y={22} textAnchor="middle">{label.letters.right}</text>
    </svg>
  );
}
