/**
 * How the report looks: a drawing office. Paper by day, dark where the reader's screen is, paper again in print. The inks are those of the
 * workbench; a test holds them against its style sheet.
 */
const PAPER = `color-scheme:light;--ground:#f2f3ee;--surface:#fafaf7;--rail-ground:#e5e7de;--ink:#16222b;--ink-2:#46535a;--ink-3:#5a666c;--rule:#cfd3cb;--rule-2:#abb2ad;--rule-key:#747e7e;--thread-rest:#b6bdb8;--group-a:#156377;--group-b:#ba7d59;--group-c:#5b73a1;--group-d:#947904;--group-e:#4c317e;--group-f:#405a09;--group-g:#945a44;--group-h:#1c998b;--hatch-1:#6f7b80;--hatch-2:#8a7668;--hatch-3:#64809a;--hatch-4:#7b7a55;--hatch-5:#86708f;--hatch-6:#59837a;--hatch-wash:rgb(22 34 43 / 0.045);--standing-guess:#5a666c;--standing-supported:#2c4a58;--standing-proven:#16222b;--focus:#b4126f`;
const NIGHT = `color-scheme:dark;--ground:#11171a;--surface:#182024;--rail-ground:#0b1012;--ink:#e2e7e3;--ink-2:#b0bbba;--ink-3:#8b989d;--rule:#273136;--rule-2:#3d4a50;--rule-key:#66747a;--thread-rest:#323e43;--group-a:#89d3f3;--group-b:#ba7525;--group-c:#7076a7;--group-d:#e7d480;--group-e:#af9ff3;--group-f:#6f9f7b;--group-g:#ebab95;--group-h:#6bf9ea;--hatch-1:#7f8d93;--hatch-2:#9c8574;--hatch-3:#7391ad;--hatch-4:#8d8b62;--hatch-5:#9a83a4;--hatch-6:#68988d;--hatch-wash:rgb(226 231 227 / 0.05);--standing-guess:#8b989d;--standing-supported:#b9cbd2;--standing-proven:#e2e7e3;--focus:#ff74bd`;

const LETTERS = [...'abcdefgh'].map((letter) => `.g-${letter}{border-color:var(--group-${letter})}`).join('');

export const REPORT_STYLE = `
:root{${PAPER};--sans:"Fira Sans","Source Sans 3","Segoe UI","Noto Sans",system-ui,sans-serif;--mono:"Fira Mono","Cascadia Mono","SF Mono","DejaVu Sans Mono",monospace}
@media screen and (prefers-color-scheme:dark){:root{${NIGHT}}}
*{box-sizing:border-box}
html{scroll-behavior:auto;-webkit-text-size-adjust:100%}
body{margin:0;font:13px/1.45 var(--sans);font-feature-settings:"tnum","lnum";color:var(--ink);background:var(--ground)}
a{color:inherit;text-decoration-color:var(--rule-key);text-underline-offset:2px}
a:focus-visible,summary:focus-visible,[tabindex]:focus-visible{outline:2px solid var(--focus);outline-offset:2px}
h1,h2,h3,p,ul,ol,dl,dd,figure{margin:0}
h1{font-size:26px;font-weight:500;line-height:1.2;letter-spacing:-.01em;overflow-wrap:anywhere}
h2{font-size:19px;font-weight:500;line-height:1.2;border-top:1px solid var(--rule-2);padding-top:12px;margin:44px 0 12px;display:flex;gap:10px}
h2 .no{color:var(--ink-3);font-weight:300}
h3{font-size:15px;font-weight:500;line-height:1.3;margin:0 0 8px;overflow-wrap:anywhere}
.sh{font-weight:600;margin:18px 0 6px;break-after:avoid}
code{font-family:var(--mono);font-size:.94em;font-weight:400;overflow-wrap:anywhere}
h3 code{font-weight:500;font-size:15px}
i{font-style:italic}b{font-weight:500}.dim{color:var(--ink-2)}.lead{font-size:15px}
p{max-width:76ch}p+p{margin-top:6px}
.sheet{display:grid;grid-template-columns:212px minmax(0,1fr);min-height:100vh}
.rail{background:var(--rail-ground);border-right:1px solid var(--rule-2);position:sticky;top:0;height:100vh;overflow-y:auto;padding:20px 14px 20px 20px;font-size:12px}
.rail h2{all:unset;display:block;font-size:11px;color:var(--ink-2);margin-bottom:8px}
.rail ol{list-style:none;padding:0}
.rail li{padding:3px 0}.rail li li{padding:1px 0 1px 12px}
.rail a{text-decoration:none;display:block;overflow:hidden;text-overflow:ellipsis;white-space:nowrap;line-height:20px}
.rail a:hover{text-decoration:underline}
.rail .no{color:var(--ink-2);display:inline-block;width:20px}
main{padding:24px 32px 64px;min-width:0;max-width:1240px}
.top{display:grid;grid-template-columns:minmax(0,1fr) 330px;gap:32px;align-items:start}
.top .sub{font-size:19px;font-weight:300;font-style:italic;color:var(--ink-2);line-height:1.25;margin-top:4px}
.block{border:1px solid var(--rule-key);display:grid;grid-template-columns:120px minmax(0,1fr);font-size:12px;background:var(--surface)}
.block dt{color:var(--ink-2);padding:4px 8px;border-right:1px solid var(--rule);border-top:1px solid var(--rule)}
.block dd{padding:4px 8px;border-top:1px solid var(--rule);overflow-wrap:anywhere}
.block dt:first-of-type,.block dd:first-of-type{border-top:0}
.cautions{border:2px solid var(--ink);background:var(--surface);margin-top:24px;break-inside:avoid}
.cautions::before{content:"";display:block;height:12px;background:repeating-linear-gradient(-45deg,var(--ink) 0 6px,var(--surface) 6px 13px);border-bottom:2px solid var(--ink);print-color-adjust:exact;-webkit-print-color-adjust:exact}
.cautions h2{border:0;margin:0;padding:12px 16px 0}
.cautions ol{padding:8px 16px 14px 38px;columns:2;column-gap:36px}
.cautions li{break-inside:avoid;padding:3px 0 3px 2px}.cautions li::marker{font-weight:600}
table{border-collapse:collapse;font-size:12px;line-height:1.4;margin:4px 0 6px}
th{font-size:11px;font-weight:400;color:var(--ink-2);text-align:left;vertical-align:bottom;padding:4px 14px 4px 0;border-bottom:1px solid var(--rule-key)}
td{vertical-align:top;padding:4px 14px 4px 0;border-bottom:1px solid var(--rule);overflow-wrap:break-word}
td:last-child,th:last-child{padding-right:0}
.r{text-align:right;white-space:nowrap}
th.w{width:32%}th.ww{width:60%}th.p{width:430px}th.p~th.ww{width:100%}.n{white-space:nowrap}
table.full{width:100%}
.facts{display:grid;grid-template-columns:max-content minmax(0,1fr);gap:3px 18px;margin:6px 0}
.facts dt{color:var(--ink-2)}
.mk{width:14px;height:14px;vertical-align:-2px;margin-right:5px;flex:none}
.tag{display:inline-block;min-width:16px;padding:0 3px;margin-right:6px;border:2px solid var(--ink-2);font-size:11px;font-weight:600;line-height:13px;text-align:center;background:var(--ground)}
.tag.again{border-style:dashed}${LETTERS}
.part{margin-top:34px;padding-top:12px;border-top:1px solid var(--rule)}
.pair{display:flex;flex-wrap:wrap;gap:4px 40px;align-items:flex-start}.pair>.facts{flex:1 1 400px}.pair>.figures{flex:0 1 auto;max-width:100%}
.legend{display:flex;flex-wrap:wrap;gap:0 8px;flex-basis:100%;contain:inline-size}
.figures{display:flex;flex-wrap:wrap;gap:14px 32px;margin:10px 0 4px;align-items:flex-start}
figure{max-width:100%;break-inside:avoid}
figcaption{font-size:12px;color:var(--ink-2);margin-top:4px;max-width:76ch}
.figures .bits+figcaption{max-width:366px;margin:0 0 4px 40px}
svg{display:block;fill:none;max-width:100%;height:auto}svg.mk{display:inline-block;max-width:none}
svg text{font:400 12px var(--sans);font-feature-settings:"tnum","lnum"}
svg .k{fill:var(--ink)}svg .k2{fill:var(--ink-2)}svg .k3{fill:var(--ink-3)}svg text.s{font-size:11px}svg .m{text-anchor:middle}svg .e{text-anchor:end}svg text.b{font-weight:600}
svg text.mo{font-family:var(--mono)}svg text.it{font-style:italic}
svg text.ha{paint-order:stroke;stroke:var(--ground);stroke-width:4px;stroke-linejoin:round}
svg path{stroke-linejoin:round}
td>svg.trace{width:420px;aspect-ratio:420/52;min-width:420px}th>svg.axis{width:420px;min-width:420px}
.pan{overflow-x:auto}.pan svg{max-width:none}
.narrower{display:none}
details{font-size:12px;margin-top:4px}summary{color:var(--ink-2);cursor:pointer;width:max-content;padding:4px 0;min-height:24px}
.unseen{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
footer{margin-top:48px;border-top:1px solid var(--rule-2);padding-top:8px;color:var(--ink-2);font-size:12px}
@media (max-width:1180px){td>svg.trace,th>svg.axis{width:320px;min-width:320px}th.p{width:330px}}
@media (max-width:1000px){.sheet{display:block}.rail{position:static;height:auto;border-right:0;border-bottom:1px solid var(--rule-2)}.rail ol ol{display:none}.rail>ol{columns:2}.rail a{line-height:24px}.top{grid-template-columns:1fr;gap:16px}}
@media screen and (max-width:700px){main{padding:16px 16px 48px}.cautions ol{columns:1}.wider{display:none}.narrower{display:block}
.facts{grid-template-columns:88px minmax(0,1fr)}
table.stack,.stack tbody,.stack tr,.stack td{display:block;width:100%}.stack thead{display:none}
.stack tr{border-bottom:1px solid var(--rule-key);padding:6px 0}.stack td{border:0;padding:2px 0 2px 96px;text-align:left;white-space:normal;position:relative;min-height:22px;overflow-wrap:anywhere}
.stack td::before{color:var(--ink-2);font-size:11px;position:absolute;left:0;top:3px;width:90px}.stack td.none{display:none}
.stack td>svg.trace{width:calc(100% + 96px);max-width:none;min-width:0;margin:18px 0 0 -96px}}
@media print{@page{size:A4;margin:15mm 14mm}body{font-size:10px;background:#fff;--ground:#fff;--surface:#fff}
.sheet{display:block}.rail{position:static;height:auto;border:0;background:none;padding:0;margin-bottom:12px}.rail ol ol{display:none}.rail>ol{columns:3}.rail{font-size:9px}.rail li{padding:0}.rail a{line-height:14px}.mk{width:10px;height:10px;vertical-align:-1px;margin-right:3px}.tag{font-size:8px;line-height:9px;min-width:11px;border-width:1.5px;margin-right:4px}h3 .tag{font-size:10px;line-height:11px}.legend svg{width:84px}.pair>.facts{flex-basis:250px}.pair>.figures>figure{max-width:330px}
main{padding:0;max-width:none}.top{grid-template-columns:minmax(0,1fr) 250px}h1{font-size:22px}h2{font-size:15px;margin:22px 0 8px;break-after:avoid}h3{font-size:12px;break-after:avoid}h3 code{font-size:12px}
table{font-size:8.5px}th{font-size:8px}td,th{padding:2px 8px 2px 0;overflow-wrap:anywhere}.n{white-space:normal}thead{display:table-header-group}tr{break-inside:avoid}
.part{break-inside:avoid;margin-top:18px;padding-top:8px}.part.long{break-inside:auto}.figures{gap:8px 16px}.figures>figure{max-width:48%}.figures>figure.whole{max-width:100%}
td>svg.trace,th>svg.axis{width:210px;min-width:210px}th.p{width:215px}.facts,.block,figcaption,details{font-size:9px}details{display:none}a{text-decoration:none}.pan{overflow:visible}.pan svg{max-width:100%}}
`;
