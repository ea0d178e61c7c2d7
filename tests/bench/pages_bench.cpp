// What a page costs: drawing it into a .pdf, and all of it from a term's store.
#include <benchmark/benchmark.h>

#include <filesystem>

#include "club/pages/page_of.hpp"
#include "report/pages/page_file.hpp"
#include "support/invented_pages.hpp"
#include "support/planted_term.hpp"

using namespace breakstep;

namespace {

std::filesystem::path passing(const char* name) {
    return std::filesystem::temp_directory_path() / ("breakstep_bench_pages_" + std::to_string(getpid()) + name);
}

void write_pdf(benchmark::State& state, const std::filesystem::path& folder, const pages::AthletePage& page) {
    const pages::PageFile file{
        folder, "page", "a page", "2026-11-03", pages::page_width, pages::page_height, {[&](cairo_t* cairo) {
            pages::draw_athlete_page(cairo, page, Theme::paper);
        }}};
    if (!pages::write_pages(file, pages::Format::pdf, false)) state.SkipWithError("the page can't be written");
}

void page_drawn(benchmark::State& state) {
    const auto folder = passing("");
    const pages::AthletePage page = pages::invented_athlete_page();
    for (auto _ : state) write_pdf(state, folder, page);
    std::filesystem::remove_all(folder);
}
BENCHMARK(page_drawn)->Unit(benchmark::kMillisecond);

/// 30 athletes x 40 sessions x 60 reps in the store: the term is read, one athlete's page is put together and written.
void page_of_a_term(benchmark::State& state) {
    const auto path = passing(".db"), folder = passing("");
    {
        StoreOptions options;
        options.mode = StoreMode::inline_writes;
        options.inline_commit_records = 4096;
        auto store = Store::open(path, options);
        if (!store || testing::plant(**store, {}).empty()) return state.SkipWithError("no term could be planted");
    }
    const Settings settings;
    const auto rules = load_next(settings);
    if (!rules) return state.SkipWithError("no rules of what comes next");
    for (auto _ : state) {
        StoreOptions options;
        options.mode = StoreMode::read_only;
        const auto store = Store::open(path, options);
        const auto term = load_term(**store, term_options(settings));
        const auto shelf = Shelf::open(**store, settings);
        if (!term || !shelf || term->terms.empty()) return state.SkipWithError("the term can't be read");
        const auto page = athlete_page_of(*shelf, settings, *rules, term->athlete(term->terms[0]), &term->terms[0]);
        if (!page) return state.SkipWithError("no page");
        write_pdf(state, folder, *page);
    }
    for (const char* suffix : {"", "-wal", "-shm", ".lock"}) std::filesystem::remove(path.string() + suffix);
    std::filesystem::remove_all(folder);
}
BENCHMARK(page_of_a_term)->Unit(benchmark::kMillisecond);

}  // namespace
