// A payday with a client that openapi-typescript makes of the contract: no cast, no `any`.
import createClient from "openapi-fetch";
import type { components, paths } from "./contract.js";

const [address = "", serverKey = ""] = process.argv.slice(2);
const withKey = (key: string | undefined) =>
  createClient<paths>({ baseUrl: address, headers: { Authorization: `Bearer ${key}` } });

const host = withKey(serverKey);
const opened = await host.POST("/api/households", { body: { name: "Quay House" } });
const book = withKey(opened.data?.key);

const setUp: components["schemas"]["SetUpRequest"] = {
  household: { name: "Quay House", currency: "EUR", timeZone: "Europe/Dublin", firstDayOfWeek: "monday" },
  wallets: { "oilskin-wallet": { label: "Oilskin wallet" } },
  compartments: {
    "market-days": { label: "Market days", wallet: "oilskin-wallet", purpose: "spending" },
    "rainy-day": { label: "Rainy day", wallet: "oilskin-wallet", purpose: "saving" },
  },
  incomeSources: {
    "harbour-office": {
      label: "Harbour office", rule: "FREQ=MONTHLY;BYMONTHDAY=1", first: "2026-09-01", notBankDay: "next", amount: 1200.35,
    },
  },
  fillRules: {
    "market-days": { kind: "fixed", amount: 190.35, holding: "bank", rank: 1 },
    "rainy-day": { kind: "share", share: 12.5, holding: "bank", rank: 2 },
  },
};
const made = await book.PUT("/api/set-up", { body: setUp });
if (made.error) throw new Error(made.error.detail);

const today = await book.GET("/api/today");
const to = today.data?.date ?? "";
const from = new Date(Date.parse(to) - 40 * 86_400_000).toISOString().slice(0, 10);
const paydays = await book.GET("/api/paydays", { params: { query: { from, to } } });
const payday = paydays.data?.paydays.at(-1)?.day ?? "";

const filled = await book.POST("/api/fill-runs", { body: { payday } });
if (filled.error) throw new Error(`${filled.error.code}: ${filled.error.detail}`);
console.log(`filled ${filled.data.sums.fills.toFixed(2)} of ${filled.data.sums.pay.toFixed(2)}`);

const spent = await book.POST("/api/spends", {
  params: { header: { "Idempotency-Key": "eggs" } },
  body: { compartment: "market-days", holding: "bank", amount: 4.2, description: "Eggs" },
});
console.log(`spent, left ${spent.data?.balances[0]?.balance.toFixed(2)}`);

const refused = await book.POST("/api/spends", { body: { compartment: "market-days", amount: 1 } });
console.log(`refused ${refused.response.status} ${refused.error?.code}`);

const counted = await book.POST("/api/counts", { body: { compartment: "market-days", holding: "bank", total: 186.1 } });
console.log(`counted, difference ${counted.data?.difference?.toFixed(2)}`);

const lines = await book.GET("/api/lines", { params: { query: { kind: "spend" } } });
for (const line of lines.data?.lines ?? []) {
  if (line.kind === "spend") console.log(`line spend ${line.compartment} ${line.amount.toFixed(2)}`);
}

const balances = await book.GET("/api/balances");
for (const { compartment, bank } of balances.data?.compartments ?? []) console.log(`${compartment} ${bank.toFixed(2)}`);
