import type { Metadata, Viewport } from "next";
import type { ReactNode } from "react";
import "@/app/tokens.css";
import { say } from "@/lib/messages/say";

export const metadata: Metadata = { title: { default: "Trueside", template: "%s · Trueside" }, description: say("common")("about") };
export const viewport: Viewport = { width: "device-width", initialScale: 1 };
/** Every page is made for one request: it carries that request's nonce, and nothing of it is cached. */
export const dynamic = "force-dynamic";

export default function RootLayout({ children }: { readonly children: ReactNode }) {
  return (
    <html lang="en">
      <body>{children}</body>
    </html>
  );
}
