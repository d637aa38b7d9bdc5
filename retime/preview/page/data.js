"use strict";
// The data block, as Python wrote it: see retime-preview/1.
const data = JSON.parse(document.getElementById("data").textContent);
