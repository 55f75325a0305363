/** The style sheet of the page: one column, a light and a dark theme, printable on A4. The contrast of text is at least 4.5 to 1 in both themes. */
export const STYLE = `
:root{color-scheme:light dark;--page:#f4f5f3;--sheet:#ffffff;--ink:#1b2224;--soft:#525d61;--line:#d5dad8;--faint:#eceeec;
--good:#1d6b45;--bad:#a92a22;--open:#7a5500;--advisory:#6a3d91;--quiet:#525d61;--good-wash:#e6f2ea;--bad-wash:#fae9e7;--open-wash:#f8f0da;--advisory-wash:#f1e9f8;--quiet-wash:#eceeec;--mark:#33565f;
--p0:#1b4f8f;--p1:#d9780f;--p2:#1f9e8c;--p3:#a03c83;--p4:#8c7a00;--p5:#5aa7dd;--p6:#6b7276}
@media (prefers-color-scheme:dark){:root{--page:#13181a;--sheet:#1b2225;--ink:#e4e9e8;--soft:#a5b1b3;--line:#38444a;--faint:#252e32;
--good:#7fd0a3;--bad:#ff9d92;--open:#e6bf62;--advisory:#cba6ee;--quiet:#a5b1b3;--good-wash:#1c3328;--bad-wash:#402322;--open-wash:#3a301a;--advisory-wash:#33264a;--quiet-wash:#252e32;--mark:#8fb9c4;
--p0:#7fb2f0;--p1:#f3a556;--p2:#4fd0b9;--p3:#e39ad0;--p4:#d6c85a;--p5:#c4e2f7;--p6:#aab2b6}}
*{box-sizing:border-box}
body{margin:0;background:var(--page);color:var(--ink);font:16px/1.5 system-ui,-apple-system,"Segoe UI",Roboto,"Noto Sans",sans-serif}
main{max-width:76rem;margin:0 auto;padding:1.5rem 1rem 4rem}
h1{font-size:1.05rem;font-weight:600;margin:0 0 1rem;color:var(--soft)}
h2{font-size:1.35rem;margin:2.6rem 0 .8rem;line-height:1.25}
h3{font-size:1.08rem;margin:0;line-height:1.35}
h4{font-size:.95rem;margin:1.2rem 0 .3rem}
p{margin:.4rem 0}
a{color:inherit}
.skip{position:absolute;left:-99rem}.skip:focus{left:1rem;top:.5rem;background:var(--sheet);padding:.4rem .8rem}
.verdict{background:var(--sheet);border:1px solid var(--line);border-left:.6rem solid var(--tone);border-radius:.4rem;padding:1.4rem 1.6rem}
.verdict .word{font-size:2.6rem;line-height:1.1;font-weight:700;margin:0;color:var(--tone)}
.verdict .why{font-size:1.1rem;margin:.5rem 0 0}
.good{--tone:var(--good);--wash:var(--good-wash)}.bad{--tone:var(--bad);--wash:var(--bad-wash)}.open{--tone:var(--open);--wash:var(--open-wash)}
.advisory{--tone:var(--advisory);--wash:var(--advisory-wash)}.quiet{--tone:var(--quiet);--wash:var(--quiet-wash)}
.facts{display:grid;grid-template-columns:repeat(auto-fill,minmax(13rem,1fr));gap:.7rem 1.6rem;margin:1.3rem 0 0;padding:1.1rem 0 0;border-top:1px solid var(--line)}
.facts div{min-width:0}.facts dt{font-size:.82rem;color:var(--soft)}.facts dd{margin:0;overflow-wrap:anywhere}
.chip{display:inline-block;white-space:nowrap;font-size:.86rem;font-weight:600;color:var(--tone);background:var(--wash);border-radius:1rem;padding:.1rem .7rem .1rem .5rem}
.scroll{overflow-x:auto;background:var(--sheet);border:1px solid var(--line);border-radius:.4rem;margin:.8rem 0}
table{border-collapse:collapse;width:100%;font-size:.92rem}
caption{text-align:left;padding:.6rem .8rem;font-weight:600;font-size:.92rem}
th,td{text-align:left;vertical-align:top;padding:.4rem .8rem;border-top:1px solid var(--line)}
thead th{font-weight:600;font-size:.84rem;color:var(--soft);background:var(--faint);vertical-align:bottom}
tbody th{font-weight:500}
td,tbody th{overflow-wrap:break-word;max-width:24rem}
.num{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}thead th.num{white-space:normal}
.none{color:var(--soft)}
.unit{font-weight:400}
nav ul{display:flex;flex-wrap:wrap;gap:.2rem 1.2rem;list-style:none;padding:0;margin:1.2rem 0 0;font-size:.92rem}
.part{margin:1.6rem 0 .3rem}.unseen{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}
.command{margin:1rem 0 0}.command code,.hash{font:.85rem ui-monospace,SFMono-Regular,Consolas,monospace;overflow-wrap:anywhere}
.hint{font-size:.9rem;margin:.5rem 0 0;max-width:36rem}
th button{all:unset;cursor:pointer}th button:hover{color:var(--ink);text-decoration:underline}th button:focus-visible{outline:2px solid var(--mark);outline-offset:2px}
th[aria-sort=ascending] button::after{content:" \\25B2"}th[aria-sort=descending] button::after{content:" \\25BC"}
.overview td,.overview th{padding-top:.55rem;padding-bottom:.55rem}
.overview a{text-decoration:none}.overview a:hover{text-decoration:underline}
.measure{display:grid;grid-template-columns:minmax(11rem,1fr) 190px;gap:.2rem 1rem;align-items:center;font-variant-numeric:tabular-nums}.measure+.measure{margin-top:.45rem}.measure strong{white-space:nowrap}
.pair{white-space:nowrap;font-variant-numeric:tabular-nums}
.of{color:var(--soft);font-size:.86rem;display:block}
article{background:var(--sheet);border:1px solid var(--line);border-radius:.4rem;margin:.9rem 0;padding:1rem 1.3rem}
article .scroll{margin:.6rem 0}
.head{display:flex;gap:.5rem 1rem;align-items:baseline;flex-wrap:wrap}
.id{font:.9rem ui-monospace,SFMono-Regular,Consolas,monospace;color:var(--soft);overflow-wrap:anywhere}
.summary{font-size:1.02rem;margin:.6rem 0 .3rem}
.reason{color:var(--soft);font-size:.92rem;max-width:46rem}
.advice{background:var(--wash);border-radius:.4rem;margin:.9rem 0;padding:.7rem 1rem}
.advice h4{margin:0 0 .3rem}.advice ul{margin:0;padding-left:1.2rem}.advice ul+h4{margin-top:.7rem}
blockquote{margin:.5rem 0;padding:.2rem 1rem;border-left:.25rem solid var(--mark);max-width:46rem}.statement ul{margin:.3rem 0;padding-left:1.2rem;font-size:.92rem}
details{margin:.6rem 0 0}summary{cursor:pointer;color:var(--soft);font-size:.92rem}summary:focus-visible{outline:2px solid var(--mark);outline-offset:2px}
figure{margin:1rem 0;background:var(--sheet);border:1px solid var(--line);border-radius:.4rem;padding:.8rem}
article figure{padding:.4rem 0 0;border:0}
figcaption{font-size:.92rem;font-weight:600;margin-bottom:.4rem}
.note{font-size:.88rem;color:var(--soft)}
svg{display:block;max-width:100%;height:auto;font:12px system-ui,-apple-system,"Segoe UI",Roboto,sans-serif}
svg text{fill:var(--soft)}svg .strong{fill:var(--ink)}
svg .grid{stroke:var(--line);stroke-width:1}svg .zero{stroke:var(--ink);stroke-width:1}
svg .tile{fill:var(--faint);stroke:var(--line)}svg .tile.faulty{fill:var(--bad-wash);stroke:var(--bad);stroke-dasharray:3 2}
svg .outline{stroke:var(--ink);stroke-width:.8}svg .track{fill:var(--faint)}svg .fill{fill:var(--tone)}svg .limit{stroke:var(--ink);stroke-width:2}
svg .bar{fill:var(--mark)}svg .arrow{stroke:var(--mark);stroke-width:2;fill:none}svg .head{fill:var(--mark)}svg .trouble{fill:var(--bad);stroke:var(--sheet);stroke-width:1}svg 
.allowed{fill:var(--ink);opacity:.55}svg .limit-line{stroke:var(--ink);stroke-width:1.4;stroke-dasharray:6 3}svg .mean-line{stroke:var(--mark);stroke-width:1.6}svg .rms-line{stroke:var(--bad);stroke-width:1;opacity:.8}
svg .band{fill:var(--mark);opacity:.13}svg .stem{stroke:var(--mark);stroke-width:2}svg .stem.blunder{stroke:var(--bad)}svg .stem.control{stroke:var(--soft)}
svg .shape{stroke:var(--sheet);stroke-width:1;fill:var(--mark)}svg .shape.blunder{fill:var(--bad)}svg .shape.control{fill:var(--soft)}
svg .curve{fill:none;stroke:var(--ink);stroke-width:1.6}svg .of-nmad{stroke-dasharray:5 4}svg .line{fill:none;stroke-width:1.8;stroke:var(--pass)}svg .dot{fill:var(--pass)}svg .dash-1{stroke-dasharray:7 3}svg .dash-2{stroke-dasharray:2 3}
svg .dots{fill:none;stroke:var(--pass);stroke-width:2.8;stroke-linecap:round;opacity:.8}svg .cut{stroke:var(--soft);stroke-dasharray:4 3}svg .plane{stroke:var(--ink);stroke-width:1.6}svg .residual{stroke:var(--bad);stroke-width:2.4}
svg .surveyed{fill:var(--sheet);fill-opacity:.75;stroke:var(--ink);stroke-width:1.5}.swatch{color:var(--pass)}
.pass-0{--pass:var(--p0)}.pass-1{--pass:var(--p1)}.pass-2{--pass:var(--p2)}.pass-3{--pass:var(--p3)}.pass-4{--pass:var(--p4)}.pass-5{--pass:var(--p5)}.pass-6{--pass:var(--p6)}
.close-ups{display:grid;grid-template-columns:repeat(auto-fill,minmax(28.5rem,1fr));gap:.9rem;margin:.8rem 0}.close-up{margin:0}article .close-up{border:1px solid var(--line);padding:.7rem}.pictures{display:flex;gap:.4rem}.pictures svg{flex:0 1 auto;min-width:0}.figures{grid-template-columns:repeat(auto-fill,minmax(10rem,1fr));margin:.8rem 0;padding:0;border:0}.close-up .legend{font-size:.82rem}
.pair-of-tables{display:grid;grid-template-columns:repeat(auto-fit,minmax(19rem,1fr));gap:0 1rem;align-items:start}
.matrix td{vertical-align:middle}.matrix .self{background:var(--faint)}
.table-box{position:relative}.long{content-visibility:auto;contain-intrinsic-size:auto 120rem}article{content-visibility:auto;contain-intrinsic-size:auto 60rem}.close-up{content-visibility:auto;contain-intrinsic-size:auto 17rem}.table-tools{position:absolute;top:.35rem;right:.6rem;display:flex;flex-wrap:wrap;gap:.3rem 1rem;align-items:baseline;font-size:.86rem;color:var(--soft);background:var(--sheet);padding-left:.6rem}.table-tools+.scroll caption{padding-right:9rem}.keep{white-space:nowrap}
button,select,input{font:inherit;color:var(--ink)}.table-tools button,.fly,.map-buttons button,.map-tools select,.table-tools input{background:var(--sheet);border:1px solid var(--soft);border-radius:.3rem;padding:.1rem .55rem;cursor:pointer}.table-tools input{cursor:text}
.fly{font-size:.78rem;padding:0 .4rem;white-space:nowrap}button:hover{border-color:var(--ink)}:focus-visible{outline:2px solid var(--mark);outline-offset:2px}
.map-tools,.map-shown{display:flex;flex-wrap:wrap;gap:.4rem 1.2rem;font-size:.92rem;align-items:baseline}.map-tools{margin:.8rem 0}
.map-frame{position:relative;border:1px solid var(--line);border-radius:.4rem;overflow:hidden;background:var(--sheet)}
.map-frame canvas{display:block;width:100%;height:min(62vh,34rem);touch-action:none;cursor:crosshair}.map-frame canvas:focus-visible{outline-offset:-3px;outline-width:3px}
.map-buttons{position:absolute;top:.6rem;right:.6rem;display:grid;gap:.3rem}.map-buttons button{width:2.1rem;height:2.1rem;padding:0;font-size:1.1rem}
.map-readout{font-variant-numeric:tabular-nums;min-height:1.6em;margin:.5rem 0}.map-foot{display:flex;flex-wrap:wrap;gap:.4rem 2rem;align-items:flex-start;justify-content:space-between}.map-foot canvas{max-width:100%}.map-foot>:first-child{flex:1 1 28rem}
.live .plan-still,#printed-maps{display:none}
.legend{display:flex;flex-wrap:wrap;gap:.2rem 1.4rem;font-size:.88rem;color:var(--soft);margin:.5rem 0 0;padding:0;list-style:none}
.signoff{display:none}
footer{margin-top:3rem;font-size:.86rem;color:var(--soft);overflow-wrap:anywhere}
@media (max-width:44rem){.overview thead{display:none}.overview,.overview tbody,.overview tr,.overview td,.overview th{display:block;max-width:none}.overview td,.overview tbody th{border:0;padding:.2rem .8rem}.overview tr{border-top:1px solid var(--line);padding:.5rem 0}.figures{grid-template-columns:1fr 1fr}.facts{grid-template-columns:1fr 1fr}.close-ups{grid-template-columns:1fr}.pictures{flex-wrap:wrap}.table-tools{position:static;padding:.4rem 0}.measure{grid-template-columns:1fr}.verdict{padding:1rem}.verdict .word{font-size:2rem}th,td{padding:.35rem .5rem}}
@page{size:A4;margin:16mm 14mm}
@media print{:root{color-scheme:light;--page:#fff;--sheet:#fff;--ink:#000;--soft:#3d4548;--line:#b9bfbd;--faint:#f1f2f1;
--good:#1d6b45;--bad:#a92a22;--open:#7a5500;--advisory:#6a3d91;--quiet:#3d4548;--good-wash:#fff;--bad-wash:#fff;--open-wash:#fff;--advisory-wash:#fff;--quiet-wash:#fff;--mark:#33565f;--p0:#1b4f8f;--p1:#d9780f;--p2:#1f9e8c;--p3:#a03c83;--p4:#8c7a00;--p5:#5aa7dd;--p6:#6b7276}
body{font-size:10pt}nav,.map,.table-tools,.fly,.live .plan-still{display:none}#printed-maps{display:block}#printed-maps canvas{max-width:100%}.close-ups{grid-template-columns:repeat(2,minmax(0,1fr))}.hint,.of,.overview .id{font-size:7.5pt}.keep{white-space:normal}.overview .chip{font-size:7.5pt}.measure{grid-template-columns:minmax(0,1fr) 150px}.close-up svg{max-width:100%}.pictures{flex-wrap:nowrap}main{max-width:none;padding:0}.skip{display:none}.scroll{overflow:visible}thead{display:table-header-group}
tr,figure,.advice,.head{break-inside:avoid}h2,h3,h4,caption{break-after:avoid}table{font-size:8pt}th,td{padding:.2rem .35rem}thead th,thead th.num{white-space:normal}.chip{border:1px solid var(--tone)}
.signoff{display:grid;grid-template-columns:2fr 1fr 2fr;gap:2rem;margin-top:3rem;break-inside:avoid}.signoff div{border-top:1px solid #000;padding-top:.3rem;margin-top:3rem}}
`;
