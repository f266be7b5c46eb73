// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * How our pages look: ink on paper, one accent for what wants attention, and never by colour alone. Contrast
 * of text is at least 4.5 to 1 in light and in dark (WCAG 2.1, 1.4.3).
 */
#include "report/markup.h"

const char report_common_style[] =
    ":root{color-scheme:light dark;--paper:#fbfaf6;--ink:#1b2027;--quiet:#5b636c;--line:#cfcbbf;"
    "--mark:#8a1f5c;--wash:#f2efe6}\n"
    "@media(prefers-color-scheme:dark){:root{--paper:#14171b;--ink:#e9e6dd;--quiet:#a7adb4;--line:#3c434b;"
    "--mark:#f0a3cf;--wash:#1c2026}}\n"
    "*{box-sizing:border-box}\n"
    "body{margin:0 auto;padding:2rem 1.25rem 4rem;max-width:60rem;background:var(--paper);color:var(--ink);"
    "font:1rem/1.5 system-ui,'Segoe UI','DejaVu Sans',sans-serif;overflow-wrap:break-word}\n"
    "h1,h2,h3,h4{font-family:Charter,'Bitstream Charter','Iowan Old Style',Georgia,'DejaVu Serif',serif;"
    "font-weight:600;line-height:1.2;margin:0}\n"
    "h1{font-size:2rem}h2{font-size:1.4rem;margin:3rem 0 .8rem;padding-top:.8rem;border-top:3px solid "
    "var(--ink)}\n"
    "h3{font-size:1.2rem;margin:2.2rem 0 .2rem;padding-top:.6rem;border-top:1px solid var(--line)}\n"
    "h4{font-size:1rem;margin:1.2rem 0 .2rem;font-weight:600}\n"
    "p{margin:.3rem 0;max-width:46rem}a{color:inherit;text-underline-offset:.15em}\n"
    ".lead{font:1.35rem/1.35 Charter,'Bitstream Charter','Iowan Old Style',Georgia,'DejaVu "
    "Serif',serif;margin:1rem "
    "0}\n"
    ".quiet,caption,dt{color:var(--quiet)}.small{font-size:.85rem}\n"
    ".figures{display:grid;grid-template-columns:repeat(auto-fill,minmax(8.5rem,1fr));gap:.8rem 1.2rem;"
    "margin:1.2rem 0;padding:0;list-style:none}\n"
    ".figures li{border-top:1px solid var(--ink);padding-top:.3rem;display:flex;flex-direction:column;"
    "justify-content:space-between}.figures span{font-size:.85rem;line-height:1.3;color:var(--quiet)}"
    ".figures b{font-size:1.5rem;font-weight:400;font-variant-numeric:tabular-nums}\n"
    "dl.facts{display:grid;grid-template-columns:max-content 1fr;gap:.1rem 1rem;margin:.6rem 0}"
    "dl.facts dd{margin:0;min-width:0}\n"
    ".verdict{white-space:nowrap;font-weight:600}.shape{width:1em;height:1em;margin-right:.35em;vertical-"
    "align:"
    "-.12em;fill:currentColor}.shapes{position:absolute}\n"
    ".do{border-left:3px solid var(--mark);padding-left:.7rem;margin:.5rem 0;font-weight:600}\n"
    ".wide{overflow-x:auto}table{border-collapse:collapse;width:100%;font-size:.88rem;line-height:1.35;"
    "font-variant-numeric:tabular-nums}\n"
    "caption{text-align:left;font-size:.85rem;padding:.4rem 0}\n"
    "th,td{text-align:left;vertical-align:top;padding:.28rem .8rem .28rem 0;border-bottom:1px solid "
    "var(--line)}\n"
    "thead th{font-weight:600;border-bottom:1px solid var(--ink)}tbody th{font-weight:400}\n";
