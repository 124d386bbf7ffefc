import type { Metadata } from "next";
import { AddressForms, type AddressQuery } from "@/app/address/address-forms";
import { signedIn } from "@/lib/access/session";
import { DESK } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

export const metadata: Metadata = { title: say("address", DESK)("title") };

export default async function AddressPage({ searchParams }: { readonly searchParams: Promise<AddressQuery> }) {
  return <AddressForms actor={await signedIn()} query={await searchParams} />;
}
