// Builds the page into the wheel's folder. The server sends index.html at / and everything else below /assets/.
import { readFileSync } from "node:fs";
import { defineConfig, type Plugin } from "vite";

/** What is built into the page and wants its licence to go along. */
const BUILT_IN = ["preact", "@preact/signals", "@preact/signals-core", "@fontsource-variable/source-serif-4"];

function licences(): Plugin {
  return {
    name: "licences",
    generateBundle() {
      const texts = BUILT_IN.map((name) => `${name}\n\n${readFileSync(`node_modules/${name}/LICENSE`, "utf8")}`);
      this.emitFile({ type: "asset", fileName: "assets/licences.txt", source: texts.join("\n\n") });
    },
  };
}

export default defineConfig({
  base: "/",
  plugins: [licences()],
  build: {
    outDir: "../src/coutil/web/static",
    emptyOutDir: true,
    assetsDir: "assets",
    // The page's Content-Security-Policy allows no data: addresses, so nothing is written into script or style.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    target: "es2022",
  },
});
