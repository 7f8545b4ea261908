fn main() -> std::process::ExitCode {
    tintline::faces::cli::run(std::env::args_os())
}
