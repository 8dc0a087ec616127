//! The command line as typed, and as meant. In: arguments. Out: [`Command`] with every choice made.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

const AFTER: &str = "A drawing is no permission: mains-pressure hot water, gas and mains electricity \
are for competent, certificated people. Local codes, the maker's instructions and licensed practice \
come first.";

#[derive(Debug, Parser)]
#[command(name = "firstfix", version, about, after_help = AFTER, max_term_width = 100)]
pub struct Typed {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Draw the sheets of a description.
    Draw(Draw),
    /// Say what is wrong, what holds and with how much room, and what was assumed.
    Check(Input),
    /// Every figure with its working.
    Size(Input),
    /// Terminals, cables, and what runs when.
    Wire(Input),
    /// Materials: parts, pipe by size, fittings.
    List(List),
    /// The whole system written out: every part, pipe and value, with its origin.
    Expand(Input),
    /// A description to start from.
    New(Plain),
    /// What a rule finds, why, its source and the mend; all rules where none is named.
    Explain(Explain),
    /// Tidy a description; comments stay.
    Format(Format),
}

/// A description to read.
#[derive(Debug, Args)]
pub struct Input {
    /// The description; `-` reads standard input.
    pub file: PathBuf,
    /// One JSON document on standard output, nothing else there.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct List {
    #[command(flatten)]
    pub input: Input,
    /// Rows for a spreadsheet: what, size, quantity, unit, remark.
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
}

#[derive(Debug, Args)]
pub struct Plain {
    /// One JSON document on standard output, nothing else there.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct Draw {
    #[command(flatten)]
    pub input: Input,
    /// An earlier description of the same job: what has not changed since stays where it stood.
    /// Given several times, the oldest first.
    #[arg(long, value_name = "EARLIER")]
    pub after: Vec<PathBuf>,
    /// Folder for the sheets; made where it is missing.
    #[arg(short, long, default_value = "out")]
    pub out: PathBuf,
    /// Only these sheets, by key or by its beginning: schematic,elevation,wiring.
    #[arg(long, value_delimiter = ',')]
    pub sheets: Vec<String>,
    #[arg(long, value_delimiter = ',', default_values_t = [FileFormat::Svg, FileFormat::Png, FileFormat::Pdf])]
    pub formats: Vec<FileFormat>,
    /// Dots an inch of the PNGs.
    #[arg(long, default_value_t = 150, value_parser = clap::value_parser!(u32).range(20..=1200))]
    pub dpi: u32,
}

/// A file format of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
pub enum FileFormat {
    Svg,
    Png,
    Pdf,
}

impl std::fmt::Display for FileFormat {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            FileFormat::Svg => "svg",
            FileFormat::Png => "png",
            FileFormat::Pdf => "pdf",
        })
    }
}

#[derive(Debug, Args)]
pub struct Explain {
    /// A rule, such as DIS04.
    pub rule: Option<String>,
    /// One JSON document on standard output, nothing else there.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct Format {
    #[command(flatten)]
    pub input: Input,
    /// Change nothing; exit with 1 where the file is not tidy.
    #[arg(long, conflicts_with = "write")]
    pub check: bool,
    /// Write the tidied text back to the file.
    #[arg(long)]
    pub write: bool,
}
