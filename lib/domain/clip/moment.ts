/** At most so many pictures are taken from the clips of one photo set. */
export const MOMENTS_LIMIT = 6;

/** Places in a set are 1 to 4 for what its family sent; moments stand behind them. */
export const FIRST_MOMENT = 5;
export const MOMENT_PLACES = Array.from({ length: MOMENTS_LIMIT }, (_, at) => FIRST_MOMENT + at);

/** Seconds with one place: closer than that nobody can stop a clip by hand. */
export const secondsOf = (ms: number): number => Math.round(ms / 100) / 10;

type Size = { readonly width: number; readonly height: number };

/** How a clip is to be shown; its pixels as they are kept. */
export type ClipShowing = Size & {
  readonly frames: number;
  readonly durationMs: number;
  /** Its side card, or a member of staff, says that it came mirror-reversed. */
  readonly isTurnedBack: boolean;
  /** Quarters clockwise by which its photo was turned. */
  readonly turns: number;
};

/** A clip as it is shown: turned by quarters as its photo was. */
export const shownSize = ({ width, height, turns }: Size & { readonly turns: number }): Size => (turns % 2 === 1 ? { width: height, height: width } : { width, height });

/** Whether a picture can be a frame of a clip: of the shape it is shown in, but for what rounding to whole pixels does. */
export const isOfShape = (picture: Size, clip: Size): boolean =>
  Math.abs(picture.width * clip.height - picture.height * clip.width) <= Math.max(clip.width, clip.height) + Math.max(picture.width, picture.height);
