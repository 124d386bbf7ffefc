import { z } from "zod";

/** What a therapist's exercise is called and says, version by version; a shipped one has its words in the catalogue. */
export type ExerciseWords = {
  /** Of this form of the words, for what is stored. */
  readonly form: 1;
  readonly title: string;
  /** Titles by item key, one for each item of the same version. */
  readonly items: Readonly<Record<string, string>>;
  /** Said wherever the set-up is shown. */
  readonly cautions: readonly string[];
};

const line = (most: number) => z.string().trim().min(3).max(most);

export const TITLE_LENGTH = 80;
export const CAUTION_LENGTH = 300;
export const CAUTIONS_MOST = 6;

export const StoredExerciseWords: z.ZodType<ExerciseWords> = z.strictObject({
  form: z.literal(1),
  title: line(TITLE_LENGTH),
  items: z.record(z.string().regex(/^[a-z0-9-]{1,64}$/), line(TITLE_LENGTH)),
  cautions: z.array(line(CAUTION_LENGTH)).max(CAUTIONS_MOST),
});
