// Words on pictures: one family (Inter where it is installed, else DejaVu Sans), three weights, placed by their
// baseline. The same on screens, in PNG, SVG and PDF: no hinting, so that widths don't jump with the size.
//
// Any thread that owns the cairo context; each thread keeps its own laid-out words. Never fails.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "report/drawing/palette.hpp"

typedef struct _cairo cairo_t;

namespace breakstep {

enum class Weight : std::uint8_t { regular, medium, semibold, bold };
enum class Anchor : std::uint8_t { start, middle, end };

/// What a line of words is for: how large it must be to be read from where people stand follows from it.
enum class TextRole : std::uint8_t {
    acted,  ///< someone acts on it
    strip,  ///< words in strips and legends, second words about the rig
    axis    ///< numbers at an axis
};

struct TextStyle {
    double size = 10;  ///< of the em, in the context's units
    Weight weight = Weight::regular;
    Colour colour;
    TextRole role = TextRole::acted;
};

/// A piece of a line in its own weight and colour.
struct TextRun {
    std::string text;
    Weight weight = Weight::regular;
    Colour colour;
};

/// A line of words that was drawn on this thread while a TextWitness lived.
struct SeenText {
    std::string text;
    double size = 0;  ///< of the em, on the device (pixels)
    TextRole role{};
    double left = 0, right = 0;  ///< on the device
    Colour colour;
};

/// Notes every line drawn by this thread while it lives; one at a time. For tests and for whoever measures a screen.
class TextWitness {
  public:
    TextWitness();
    ~TextWitness();
    TextWitness(const TextWitness&) = delete;
    TextWitness& operator=(const TextWitness&) = delete;
    [[nodiscard]] const std::vector<SeenText>& seen() const { return seen_; }
    void note(SeenText text) { seen_.push_back(std::move(text)); }

  private:
    std::vector<SeenText> seen_;
};

/// The height of Inter's capitals, as a share of the size (its OS/2 table: 2048 of 2816; DejaVu Sans has .729).
inline constexpr double capital_height = 0.7275;

/// Draws one line and returns its width.
double draw_text(cairo_t* cairo, std::string_view text, double x, double baseline, const TextStyle& style,
                 Anchor anchor = Anchor::start);
double draw_runs(cairo_t* cairo, const std::vector<TextRun>& runs, double x, double baseline, double size,
                 Anchor anchor = Anchor::start);

[[nodiscard]] double text_width(std::string_view text, double size, Weight weight);

/// How far the ink of the text rises above its baseline: more than the capitals in many scripts.
[[nodiscard]] double text_rise(std::string_view text, double size, Weight weight);

/// The largest size up to `size` at which the text is at most `width` wide, but not under `least`.
[[nodiscard]] double fitting_size(std::string_view text, double width, double size, double least, Weight weight);

/// The text at that size, cut with an ellipsis where it is wider than `width`.
[[nodiscard]] std::string shortened(std::string_view text, double width, double size, Weight weight);

/// A column of text.
struct Paragraph {
    double width = 100;
    double pitch = 12;  ///< from baseline to baseline
    int lines_max = 3;  ///< the last one ends in an ellipsis where more would come
};

/// Draws the text over as few lines as it needs, about equally long, from `x` and the first line's `baseline`; broken
/// between words, inside one only where it is wider than the column. Reads from the left whatever its first word's
/// script. Returns how many lines.
int draw_paragraph(cairo_t* cairo, std::string_view text, double x, double baseline, const TextStyle& style,
                   const Paragraph& paragraph);
/// How many lines of that width the text needs.
[[nodiscard]] int paragraph_lines(std::string_view text, double width, double size, Weight weight);

/// A name between U+2068 and U+2069 (Unicode's first strong isolate), so that one of another direction leaves the
/// sentence around it as it is.
[[nodiscard]] std::string isolated(std::string_view name);
/// How many characters of it no installed font can draw.
[[nodiscard]] int characters_without_font(std::string_view text);

/// "Inter" or what stands in for it.
[[nodiscard]] const std::string& text_family();

}  // namespace breakstep
