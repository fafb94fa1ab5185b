// Who works here. At home, without accounts, that is whoever is let in.

import { signal } from "@preact/signals";
import * as api from "../api.js";
import { texts } from "../texts.js";
import { say } from "./app.js";
import { explain, sayProblem } from "./problems.js";

/** @import {Link, Me} from "../types" */

export const me = signal(/** @type {Me} */ ({ accounts: false, signed_in: true, role: "owner" }));
export const links = signal(/** @type {readonly Link[]} */ ([]));
export const refused = signal(/** @type {{ title: string, remedy: string } | null} */ (null));

/** Whether what is here may be changed. */
export const mayChange = () => me.value.role === "owner" || me.value.role === "editor";

export const loadMe = () => api.getMe().then((m) => { me.value = m; }, () => {});

/** @param {string} name @param {string} secret */
export async function signIn(name, secret) {
  refused.value = null;
  await api.signIn(name, secret).then((m) => { me.value = m; }, (e) => { refused.value = explain(e); });
}

/** Everything that was shown goes with it. */
export const signOut = () => api.signOut().then(() => location.replace("/"), sayProblem);

/** @param {string} garmentId */
export const loadLinks = (garmentId) => api.listLinks(garmentId).then((l) => { links.value = l; }, sayProblem);

/** Makes a link and returns its address, "" when it could not be made. @param {string} garmentId @param {number} days */
export async function makeLink(garmentId, days) {
  const made = await api.addLink(garmentId, days).catch(sayProblem);
  await loadLinks(garmentId);
  return made ? location.origin + made.path : "";
}

/** @param {Link} l */
export const endLink = (l) => api.revokeLink(l.garment_id, l.id).then(() => { say(texts.people.ended); return loadLinks(l.garment_id); }, sayProblem);
