//! Documents for the crew: PDF, XLSX, CSV, SVG and labels.
