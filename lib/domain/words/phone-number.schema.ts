import { z } from "zod";

/** A phone number as people write them, with brackets, dots and dashes; empty where there is none. */
export const PhoneNumber = z.string().trim().max(40).regex(/^(?:[+(\d][\d\s().\-/]{2,})?$/);
