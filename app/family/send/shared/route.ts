import { unreadHandler } from "@/lib/access/handler";

/** Reached only where no worker stands between: the worker answers a share on the phone. */
export const POST = unreadHandler("/shared");
