import { useId } from "react";
import styles from "@/app/ui/survival-curve.module.css";

export type CurveStep = { readonly time: number; readonly survival: number; readonly lower: number | null; readonly upper: number | null; readonly atRisk: number };

// A narrow drawing, so that its words stay readable when it is as wide as a phone. Drawing units.
const WIDTH = 440;
const HEIGHT = 300;
const LEFT = 52;
const RIGHT = WIDTH - 36;
const TOP = 32;
const BOTTOM = 216;

/**
 * Share still waiting against working time, as steps, with its limits dashed and the number waiting under it.
 * `time` and `maxTime` in one unit, shares 0 to 1. Few ticks with short labels: five of eight letters fit a phone.
 */
export function SurvivalCurve({ title, description, steps, maxTime, ticks, waitingWord, shareWord }: {
  readonly title: string;
  /** The same in words, for who cannot see it. */
  readonly description: string;
  readonly steps: readonly CurveStep[];
  readonly maxTime: number;
  readonly ticks: readonly { readonly at: number; readonly label: string; readonly waiting: number }[];
  readonly waitingWord: string;
  readonly shareWord: string;
}) {
  const id = useId();
  const x = (time: number) => LEFT + ((RIGHT - LEFT) * time) / maxTime;
  const y = (share: number) => TOP + (BOTTOM - TOP) * (1 - share);
  const stairs = (value: (step: CurveStep) => number | null) =>
    steps.reduce((path, step) => {
      const share = value(step);
      return share === null ? path : `${path}H${x(step.time)}V${y(share)}`;
    }, `M${x(0)} ${y(1)}`) + `H${x(maxTime)}`;
  return (
    <svg className={styles.curve} viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-labelledby={`${id}t`} aria-describedby={`${id}d`}>
      <title id={`${id}t`}>{title}</title>
      <desc id={`${id}d`}>{description}</desc>
      {[0, 0.25, 0.5, 0.75, 1].map((share) => (
        <g key={share}>
          <path className={styles.grid} d={`M${LEFT} ${y(share)}H${RIGHT}`} />
          <text className={styles.text} x={LEFT - 8} y={y(share) + 5} textAnchor="end">{Math.round(share * 100)} %</text>
        </g>
      ))}
      <path className={styles.band} d={stairs((step) => step.lower)} />
      <path className={styles.band} d={stairs((step) => step.upper)} />
      <path className={styles.line} d={stairs((step) => step.survival)} />
      <text className={styles.text} x={0} y={TOP - 18}>{shareWord}</text>
      {ticks.map((tick) => (
        <g key={tick.at}>
          <path className={styles.tick} d={`M${x(tick.at)} ${BOTTOM}v6`} />
          <text className={styles.text} x={x(tick.at)} y={BOTTOM + 22} textAnchor="middle">{tick.label}</text>
          <text className={styles.text} x={x(tick.at)} y={BOTTOM + 76} textAnchor="middle">{tick.waiting}</text>
        </g>
      ))}
      <path className={styles.grid} d={`M0 ${BOTTOM + 34}H${WIDTH}`} />
      <text className={styles.text} x={0} y={BOTTOM + 54}>{waitingWord}</text>
    </svg>
  );
}
