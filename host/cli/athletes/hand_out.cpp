// athletes export-list, export: tables to a file or to stdout.
#include "club/athletes/hand_out.hpp"

#include <fmt/format.h>

#include <iostream>

#include "cli/athletes/shared.hpp"
#include "club/athletes/athlete_list.hpp"
#include "club/athletes/athletes_json.hpp"
#include "club/consent/consent_words.hpp"
#include "club/results/subtitles.hpp"

namespace breakstep {
namespace {

// A disk that has no room for an export is not the store's.
int complain_of_file(const Error& error) {
    return error.kind == ErrorKind::no_space ? complain(error, exit_failed) : complain(error);
}

}  // namespace

int export_athletes(const KeepingOptions& options) {
    return with_kept(options.common, [&](const Kept& store) {
        const auto athletes = store.athletes();
        if (!athletes) return complain(athletes.error());
        std::vector<Athlete> named;
        for (const Athlete& athlete : *athletes)
            if (!athlete.call_sign.empty()) named.push_back(athlete);
        const auto written = write_out(options.file, options.overwrite, [&](std::ostream& out) -> Expected<void> {
            if (options.common.json)
                out << athletes_json(named, today_here(), options.with_names ? Names::real : Names::call_signs_alone);
            else
                write_athlete_list(out, named, options.with_names);
            return {};
        });
        if (!written) return complain_of_file(written.error());
        if (named.size() < athletes->size())
            std::cerr << fmt::format("{} athletes without a call-sign are not in the list\n",
                                     athletes->size() - named.size());
        return static_cast<int>(exit_done);
    });
}

namespace {

int export_subtitles(const KeepingOptions& options) {
    if (options.file.empty())
        return complain({ErrorKind::bad_input, "where to put the subtitles was not said",
                         "name a file that ends in .srt or .vtt, or - for a list on stdout"});
    // The journals stand in this computer's store alone.
    return with_store(options.common, StoreMode::read_only, [&](const Store& store) {
        const auto film = captions_of(store, options.of);
        if (!film) return complain(film.error());
        const std::vector<Caption>& captions = film->captions;
        const auto written = write_out(options.file, options.overwrite, [&](std::ostream& out) -> Expected<void> {
            out << (options.file.ends_with(".srt")   ? as_srt(captions)
                    : options.file.ends_with(".vtt") ? as_webvtt(captions)
                    : options.common.json            ? as_json(captions)
                                                     : as_list(captions));
            return {};
        });
        if (!written) return complain_of_file(written.error());
        if (film->earlier > 0)
            std::cerr << fmt::format("{} earlier {} of that day {} a flash of {} own: name a session of it with --of\n",
                                     film->earlier, film->earlier == 1 ? "film" : "films",
                                     film->earlier == 1 ? "has" : "have", film->earlier == 1 ? "its" : "their");
        if (film->untimed > 0)
            std::cerr << fmt::format("{} reps were made after the computer was started anew, or slept, since the "
                                     "flash: they have no time in the film and are left out\n",
                                     film->untimed);
        if (options.file != "-") std::cerr << "call-signs stand in it: erasing an athlete does not find it\n";
        return static_cast<int>(exit_done);
    });
}

}  // namespace

int export_results(const KeepingOptions& options) {
    if (options.subtitles) return export_subtitles(options);
    if (options.dictionary) {
        const auto written = write_out(options.file, options.overwrite,
                                       [&](std::ostream& out) { return write_dictionary(out, options.common.json); });
        return written ? static_cast<int>(exit_done) : complain_of_file(written.error());
    }
    if (options.file.empty())
        return complain({ErrorKind::bad_input, "where to export to was not said", "name a file, or - for stdout"});
    return with_kept(options.common, [&](const Kept& store) {
        const auto roster = roster_of(store, options.with_names);
        if (!roster) return complain(roster.error());
        const auto written = write_out(options.file, options.overwrite, [&](std::ostream& out) {
            return options.common.json ? write_json(store, *roster, out)
                                       : write_table(store, *roster, out, options.table);
        });
        if (!written) return complain_of_file(written.error());
        tell_left_out(roster->left_out, today_here());
        return static_cast<int>(exit_done);
    });
}

}  // namespace breakstep
