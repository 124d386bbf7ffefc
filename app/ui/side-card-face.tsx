import { qrPath } from "@/app/ui/qr-path";
import styles from "@/app/ui/side-card-face.module.css";
import { shortCardNumber } from "@/lib/domain/photo/card-number";

export type FaceWords = { readonly up: string; readonly line: string; readonly short: string; readonly fold: string; readonly foot: string; readonly code: string };

/** Millimetres on paper: inside the margins of A4 and Letter alike, which reach on below as the foot. */
const FACE = { width: 180, height: 238 };
const CODE = { side: 120, left: 30, top: 62 };
const FOLD = 222;

/**
 * One side card as it is printed. No name and no side stands on it: people would read a side as an order,
 * and whoever finds the card should learn nothing. White reaches over four modules all round the code (ISO/IEC 18004).
 */
export function SideCardFace({ number, words }: { readonly number: string; readonly words: FaceWords }) {
  const middle = FACE.width / 2;
  return (
    <svg className={styles.face} width={`${FACE.width}mm`} height={`${FACE.height}mm`} viewBox={`0 0 ${FACE.width} ${FACE.height}`}>
      <rect className={styles.paper} width={FACE.width} height={FACE.height} />
      <path className={styles.ink} d={`M${middle} 3l16 20h-32z`} />
      <text className={styles.bold} fontSize="10" x={middle} y="34" textAnchor="middle">{words.up}</text>
      <path className={styles.ink} d={qrPath(number, CODE)}><title>{words.code}</title></path>
      <text className={styles.ink} fontSize="6" x={middle} y="209" textAnchor="middle">{words.line}</text>
      <text className={styles.ink} fontSize="5" x={middle} y="216.5" textAnchor="middle">{words.short}</text>
      <path className={styles.fold} d={`M0 ${FOLD}h${FACE.width}`} />
      <text className={styles.ink} fontSize="5" x="0" y={FOLD + 6}>{words.fold}</text>
      <text className={styles.ink} fontSize="5" x="0" y={FOLD + 14}>{words.foot}</text>
    </svg>
  );
}

/** Words of the face for one card; `say` is the catalogue's area of cards. */
export const faceWords = (number: string, say: (key: string, values?: Readonly<Record<string, string>>) => string): FaceWords => ({
  up: say("face.up"), line: say("face.line"), fold: say("face.fold"), foot: say("face.foot"), code: say("face.code"),
  short: say("short", { number: shortCardNumber(number) }),
});
