import { createHash } from "node:crypto";
import react from "@vitejs/plugin-react";
import { defineConfig, type Plugin } from "vite";

/** Writes the worker that lets the page be reloaded while the service is away: it keeps the page's own files, by name. */
function worker(): Plugin {
  return {
    name: "roofwell-worker",
    apply: "build",
    generateBundle: {
      order: "post",
      handler(_, bundle) {
        const files = Object.keys(bundle).sort();
        const index = bundle["index.html"];
        const text = index?.type === "asset" ? String(index.source) : "";
        const name = createHash("sha256").update(files.join("\n") + text).digest("hex").slice(0, 16);
        const kept = ["./", "./house.svg", ...files.filter((file) => file !== "index.html").map((file) => `./${file}`)];
        this.emitFile({ type: "asset", fileName: "sw.js", source: source(name, kept) });
      },
    },
  };
}

const source = (name: string, kept: string[]): string => `
const NAME = "roofwell-${name}", KEPT = ${JSON.stringify(kept)};
self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(NAME).then((cache) => cache.addAll(KEPT)).then(() => self.skipWaiting()));
});
self.addEventListener("activate", (event) => {
  const old = (names) => names.filter((one) => one.startsWith("roofwell-") && one !== NAME);
  event.waitUntil(caches.keys().then((names) => Promise.all(old(names).map((one) => caches.delete(one)))).then(() => self.clients.claim()));
});
self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin || url.pathname.includes("/api/")) return;
  const kept = () => caches.match(event.request, { ignoreSearch: true }).then((found) => found ?? Response.error());
  event.respondWith(event.request.mode === "navigate"
    ? fetch(event.request).catch(() => caches.match("./").then((found) => found ?? Response.error()))
    : caches.match(event.request).then((found) => found ?? fetch(event.request).catch(kept)));
});
`;

export default defineConfig({
  base: "./",
  plugins: [react(), worker()],
  build: { outDir: "../src/roofwell/web/static", emptyOutDir: true, target: "es2022", assetsInlineLimit: 0 },
  server: { proxy: { "/api": "http://127.0.0.1:8437" } },
});
