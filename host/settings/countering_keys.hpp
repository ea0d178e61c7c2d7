// What a drill says beyond its attacks: a level that follows, what else is asked of the athlete, how the opponent takes
// what the athlete does, and an opponent by its name. Opponents stand in config/opponents (a person's own in
// ~/.config/breakstep/opponents comes first), one a file: README.md explains the keys. Unknown keys and wrong values
// are errors with file, line and what is allowed. Any thread.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "core/error.hpp"
#include "core/trade/drill.hpp"
#include "settings/settings.hpp"
#include "settings/toml_tree.hpp"

namespace breakstep {

class TableReader;

void read_second_strike(TableReader& attack_table, AttackChoice& attack);
/// The keys that a drill and an opponent's file share: stepped_at, retreated_from, struck, and delays' spread.
void read_manners(TableReader& top, const std::string& file, Manners& manners);
/// `telegraph`: how an opponent leans. False where there is no such table.
bool read_telegraph(TableReader& top, const std::string& file, Telegraph& telegraph);
/// Of the table `drawn`: the delay behind the act that draws.
void read_drawn_delay(TableReader& table, DrawnDelay& drawn);
/// All of a drill's, `against` excepted, which is read before the rest since a drill may change what it brings.
void read_countering(TableReader& top, const std::string& file, Drill& drill);
/// `against`: kinds with their answers, level, waits, leans, delays and manners of an opponent.
void read_opponent_named(TableReader& top, Drill& drill, const Settings& settings);
/// After the attacks: what doesn't go together.
void check_countering(TableReader& top, const Drill& drill);

/// An opponent as its file has it, as a drill in which nothing else is said.
[[nodiscard]] Expected<Drill> load_opponent(const std::string& name, const Settings& settings);
[[nodiscard]] Expected<Drill> parse_opponent(const std::string& text, const std::string& file, const std::string& name,
                                             const Settings& settings);
/// All there are, by name; of two with one name the own one. What can't be read is told in `unusable`.
[[nodiscard]] Expected<std::vector<Drill>> list_opponents(const Settings& settings, std::vector<Error>& unusable);
/// Own folder first.
[[nodiscard]] std::vector<std::filesystem::path> opponent_folders();

}  // namespace breakstep
