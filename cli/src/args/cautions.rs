//! What to be careful about, as shown in the help of commands whose results lead to a build.

/// The short form: one screen has to hold it.
pub const CAUTIONS: &str = "\
Cautions:
  Results rest on nominal material data and an idealised section. The maker's data sheet and
  local rules come first; measure before you rely on a number.
  Magnets: fields above 0.5 mT can disturb pacemakers and other implants, and strong magnets
  exceed that at several centimetres. They snap together, pinch and shatter; wear eye protection.
  Keep loose magnets from children: swallowed, they injure.
  Winding: fine wire cuts and its ends fly; enamel fumes are harmful when soldered.
  Potting: melt wax in a double boiler with a thermometer, never on an open flame, never alone;
  never put water on burning wax.
  Mains: whatever the pickup is plugged into must be properly earthed.";
