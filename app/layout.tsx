import type { Metadata, Viewport } from "next";
import type { ReactNode } from "react";
import "@/app/tokens.css";
// The page of a failure has no style sheet of its own: browsers complain of one made ready and not used.
import "@/app/plain-page.module.css";
import { KeepFocus } from "@/app/ui/keep-focus";
import { readerNow } from "@/lib/access/session";
import { GROUND } from "@/lib/domain/installed/colours";
import { directionOf } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

export const generateMetadata = async (): Promise<Metadata> => ({ title: { default: "Trueside", template: "%s · Trueside" }, description: say("common", await readerNow())("about") });
export const viewport: Viewport = {
  width: "device-width", initialScale: 1,
  themeColor: [
    { media: "(prefers-color-scheme: light)", color: GROUND.light },
    { media: "(prefers-color-scheme: dark)", color: GROUND.dark },
  ],
};
/** Every page is made for one request: it carries that request's nonce, and nothing of it is cached. */
export const dynamic = "force-dynamic";

export default async function RootLayout({ children }: { readonly children: ReactNode }) {
  const { locale } = await readerNow();
  return (
    <html lang={locale} dir={directionOf(locale)}>
      <body>{children}<KeepFocus /></body>
    </html>
  );
}
