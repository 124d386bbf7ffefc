import type { Share } from "@/lib/domain/stats/wilson";

const percent = (share: number): number => Math.round(share * 100);

/** A share and its limits as a sentence takes them; whole percents, 0 where nothing was seen. */
export const shareSaid = ({ count, of, interval }: Share) =>
  ({ count, of, share: of === 0 ? 0 : percent(count / of), lower: percent(interval?.lower ?? 0), upper: percent(interval?.upper ?? 0) });
