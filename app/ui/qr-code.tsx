import { qrPath } from "@/app/ui/qr-path";
import styles from "@/app/ui/qr-code.module.css";

/** White all round the code, over the four modules that ISO/IEC 18004 asks for: its smallest has 21 a side. */
const QUIET = 20;
const CODE = { side: 80, left: QUIET, top: QUIET };

/** An address as a code to hold a phone's camera at; black on white in every theme. `words` say where it leads. */
export function QrCode({ text, words }: { readonly text: string; readonly words: string }) {
  const whole = CODE.side + 2 * QUIET;
  return (
    <svg className={styles.code} viewBox={`0 0 ${whole} ${whole}`} role="img" aria-label={words}>
      <rect className={styles.paper} width={whole} height={whole} />
      <path className={styles.ink} d={qrPath(text, CODE)} />
    </svg>
  );
}
