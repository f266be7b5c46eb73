// SPDX-License-Identifier: GPL-3.0-or-later
/* What a record adds to the common look, and its few lines of script. */
#include "report/record.h"

const char report_record_style[] =
    ".n{text-align:right;white-space:nowrap}.amiss th,.amiss .n{font-weight:700}.amiss td,.amiss "
    "th{background:var(--wash)}\n"
    ".bar{width:96px;height:14px;overflow:visible;display:block;margin-top:.15em}.bar .r{stroke:var(--line)}"
    ".bar .v{stroke:var(--ink);stroke-width:4}.bar .l{stroke:var(--mark);stroke-width:2}\n"
    ".hash{font:.78rem/1.3 'DejaVu Sans Mono',ui-monospace,monospace;overflow-wrap:anywhere}\n"
    "img{display:block;width:100%;max-width:800px;height:auto;margin:.8rem 0}\n"
    ".drift{width:100%;max-width:46rem;height:auto;display:block;margin:.5rem 0 1rem;font-size:12px}\n"
    ".drift text{fill:var(--ink)}.drift .q{fill:var(--quiet)}.drift .a{stroke:var(--line)}.drift "
    ".c{stroke:var(--ink);fill:none}.drift .p{fill:var(--ink)}.drift .o{fill:var(--paper);stroke:var(--mark);"
    "stroke-width:2}\n"
    ".sign td{height:4rem;min-width:3rem}.tools{display:flex;gap:.6rem;align-items:center;margin:.4rem 0}\n"
    "input,button{font:inherit;color:inherit;background:var(--paper);border:1px solid "
    "var(--quiet);padding:.2rem "
    ".5rem}"
    "th button{border:0;padding:0;font-weight:600;text-decoration:underline "
    "dotted;text-underline-offset:.2em;text-align:left}\n"
    ":focus-visible{outline:3px solid var(--mark);outline-offset:2px}\n"
    "@media(max-width:40rem){body{padding:1rem .8rem "
    "3rem}h1{font-size:1.5rem}.bars{display:none}th,td{padding-"
    "right:.5rem}table{font-size:.8rem}.stack tr{display:flex;flex-wrap:wrap;gap:0 .7rem;border-bottom:1px "
    "solid var(--line)}.stack th,.stack td{border:0;padding:.15rem 0}.stack th:first-child{flex:1 1 "
    "6rem}.stack td:last-child{flex:1 0 100%}.stack thead th:last-child{display:none}.wide "
    "img{min-width:36rem}.figures b{font-size:1.2rem}.figures{grid-template-columns:1fr "
    "1fr}.hide{display:none}dl.facts{grid-template-columns:1fr}dl.facts dd{margin-bottom:.4rem}}\n"
    ".attempts{content-visibility:auto;contain-intrinsic-size:auto 60rem}\n"
    "@media "
    "print{.attempts{content-visibility:visible}:root{--paper:#fff;--ink:#000;--quiet:#444;--line:#bbb;--"
    "mark:#000;--wash:#fff}"
    "@page{margin:16mm 14mm}body{max-width:none;padding:0;font-size:9.5pt}.tools{display:none}"
    "h2,h3,h4{break-after:avoid}tr,img,.do,.figures,.sign,.drift{break-inside:avoid}thead{display:table-"
    "header-"
    "group}a{text-decoration:none}th button{text-decoration:none}}\n";

/*
 * Sorting and filtering of the overview. The page is complete without: the script makes its own controls.
 */
const char report_record_script[] =
    "'use strict';\n"
    "(function(){var t=document.getElementById('overview');if(!t)return;var b=t.tBodies[0];\n"
    "var key=function(r,i){var c=r.cells[i];return c.dataset.k!==undefined?c.dataset.k:c.textContent;};\n"
    "[].forEach.call(t.tHead.rows[0].cells,function(h,i){var u=document.createElement('button');"
    "u.type='button';u.textContent=h.textContent;h.textContent='';h.appendChild(u);\n"
    "u.addEventListener('click',function(){var up=h.getAttribute('aria-sort')!=='ascending';"
    "[].forEach.call(t.tHead.rows[0].cells,function(o){o.removeAttribute('aria-sort');});"
    "h.setAttribute('aria-sort',up?'ascending':'descending');\n"
    "[].slice.call(b.rows).sort(function(x,y){var "
    "d=key(x,i).localeCompare(key(y,i),undefined,{numeric:true});"
    "return up?d:-d;}).forEach(function(r){b.appendChild(r);});});});\n"
    "var d=document.querySelector('.tools');var l=document.createElement('label');"
    "l.textContent=d.dataset.label+' ';var "
    "f=document.createElement('input');f.type='search';l.appendChild(f);"
    "d.appendChild(l);\n"
    "f.addEventListener('input',function(){var w=f.value.toLowerCase();[].forEach.call(b.rows,function(r){"
    "r.hidden=r.textContent.toLowerCase().indexOf(w)<0;});});})();\n";
