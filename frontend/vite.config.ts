// Builds the page into the wheel's folder. The server sends index.html at / and everything else below /assets/.
import { defineConfig } from "vite";

export default defineConfig({
  base: "/",
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
