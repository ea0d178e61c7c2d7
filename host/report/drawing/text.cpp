#include "report/drawing/text.hpp"

#include <pango/pangocairo.h>

#include <cmath>
#include <memory>
#include <unordered_map>

namespace breakstep {
namespace {

struct Unref {
    void operator()(void* object) const { g_object_unref(object); }
};
using Layout = std::unique_ptr<PangoLayout, Unref>;

PangoWeight pango_weight(Weight weight) {
    switch (weight) {
        case Weight::regular:
            return PANGO_WEIGHT_NORMAL;
        case Weight::medium:
            return PANGO_WEIGHT_MEDIUM;
        case Weight::semibold:
            return PANGO_WEIGHT_SEMIBOLD;
        case Weight::bold:
            return PANGO_WEIGHT_BOLD;
    }
    return PANGO_WEIGHT_NORMAL;
}

std::string find_family() {
    PangoFontFamily** families = nullptr;
    int count = 0;
    pango_font_map_list_families(pango_cairo_font_map_get_default(), &families, &count);
    std::string found = "DejaVu Sans";
    for (int i = 0; i < count; ++i)
        if (std::string_view(pango_font_family_get_name(families[i])) == "Inter") found = "Inter";
    g_free(families);
    return found;
}

PangoContext* words_context() {
    // One context a thread, as pango wants it; lives as long as the thread.
    thread_local const std::unique_ptr<PangoContext, Unref> context = [] {
        PangoContext* made = pango_font_map_create_context(pango_cairo_font_map_get_default());
        cairo_font_options_t* options = cairo_font_options_create();
        cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
        cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
        cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
        pango_cairo_context_set_font_options(made, options);
        cairo_font_options_destroy(options);
        pango_context_set_round_glyph_positions(made, FALSE);
        return std::unique_ptr<PangoContext, Unref>(made);
    }();
    return context.get();
}

Layout lay_out(std::string_view text, double size, Weight weight) {
    Layout layout(pango_layout_new(words_context()));
    PangoFontDescription* font = pango_font_description_new();
    pango_font_description_set_family(font, text_family().c_str());
    pango_font_description_set_weight(font, pango_weight(weight));
    pango_font_description_set_absolute_size(font, size * PANGO_SCALE);
    pango_layout_set_font_description(layout.get(), font);
    pango_font_description_free(font);
    pango_layout_set_single_paragraph_mode(layout.get(), TRUE);
    pango_layout_set_text(layout.get(), text.data(), static_cast<int>(text.size()));
    return layout;
}

/// Laying out a line costs more than drawing it, and a screen shows the same words sixty times a second.
PangoLayout* kept_layout(std::string_view text, double size, Weight weight) {
    thread_local std::unordered_map<std::string, Layout> kept;
    std::string key(text);
    key += '\x1f' + std::to_string(std::lround(size * 64)) + static_cast<char>('a' + static_cast<int>(weight));
    const auto found = kept.find(key);
    if (found != kept.end()) return found->second.get();
    if (kept.size() >= 400) kept.clear();
    return kept.emplace(std::move(key), lay_out(text, size, weight)).first->second.get();
}

Layout lay_out_paragraph(std::string_view text, double width, double size, Weight weight) {
    Layout layout = lay_out(text, size, weight);
    pango_layout_set_auto_dir(layout.get(), FALSE);
    pango_layout_set_wrap(layout.get(), PANGO_WRAP_WORD_CHAR);
    pango_layout_set_width(layout.get(), static_cast<int>(std::lround(width * PANGO_SCALE)));
    return layout;
}

/// The narrowest column that takes no more lines: so the last one is not left with a single word.
double balanced_width(PangoLayout* layout, double width) {
    const int lines = pango_layout_get_line_count(layout);
    double low = width / 2, high = width;
    while (lines > 1 && high - low > 1) {
        const double middle = (low + high) / 2;
        pango_layout_set_width(layout, static_cast<int>(std::lround(middle * PANGO_SCALE)));
        (pango_layout_get_line_count(layout) > lines ? low : high) = middle;
    }
    return high;
}

thread_local TextWitness* witness = nullptr;

void tell_witness(cairo_t* cairo, std::string_view text, double left, double width, const TextStyle& style) {
    if (witness == nullptr) return;
    double x = 0, y = style.size, from = left, to = left + width, ignored = 0, also_ignored = 0;
    cairo_user_to_device_distance(cairo, &x, &y);
    cairo_user_to_device(cairo, &from, &ignored);
    cairo_user_to_device(cairo, &to, &also_ignored);
    witness->note({std::string(text), y, style.role, from, to, style.colour});
}

double width_of(PangoLayout* layout) {
    PangoRectangle logical;
    pango_layout_get_extents(layout, nullptr, &logical);
    return static_cast<double>(logical.width) / PANGO_SCALE;
}

}  // namespace

const std::string& text_family() {
    static const std::string family = find_family();
    return family;
}

TextWitness::TextWitness() { witness = this; }
TextWitness::~TextWitness() { witness = nullptr; }

double draw_text(cairo_t* cairo, std::string_view text, double x, double baseline, const TextStyle& style,
                 Anchor anchor) {
    if (text.empty()) return 0;
    PangoLayout* layout = kept_layout(text, style.size, style.weight);
    const double width = width_of(layout);
    const double shift = anchor == Anchor::start ? 0 : anchor == Anchor::middle ? width / 2 : width;
    tell_witness(cairo, text, x - shift, width, style);
    set_colour(cairo, style.colour);
    cairo_move_to(cairo, x - shift, baseline);
    pango_cairo_show_layout_line(cairo, pango_layout_get_line_readonly(layout, 0));
    return width;
}

double draw_runs(cairo_t* cairo, const std::vector<TextRun>& runs, double x, double baseline, double size,
                 Anchor anchor) {
    double width = 0;
    for (const TextRun& run : runs) width += text_width(run.text, size, run.weight);
    double at = anchor == Anchor::start ? x : anchor == Anchor::middle ? x - width / 2 : x - width;
    for (const TextRun& run : runs) at += draw_text(cairo, run.text, at, baseline, {size, run.weight, run.colour});
    return width;
}

double text_width(std::string_view text, double size, Weight weight) {
    return text.empty() ? 0 : width_of(kept_layout(text, size, weight));
}

double text_rise(std::string_view text, double size, Weight weight) {
    if (text.empty()) return 0;
    PangoLayout* layout = kept_layout(text, size, weight);
    PangoRectangle ink;
    pango_layout_get_extents(layout, &ink, nullptr);
    return static_cast<double>(pango_layout_get_baseline(layout) - ink.y) / PANGO_SCALE;
}

double fitting_size(std::string_view text, double width, double size, double least, Weight weight) {
    const double needed = text_width(text, size, weight);
    if (needed <= width) return size;
    return std::max(least, size * width / needed);
}

std::string shortened(std::string_view text, double width, double size, Weight weight) {
    if (text_width(text, size, weight) <= width) return std::string(text);
    std::string cut(text);
    while (!cut.empty()) {
        // Drop one whole character: its continuation bytes first.
        while (!cut.empty() && (static_cast<unsigned char>(cut.back()) & 0xC0U) == 0x80U) cut.pop_back();
        if (!cut.empty()) cut.pop_back();
        while (!cut.empty() && cut.back() == ' ') cut.pop_back();
        if (text_width(cut + "\u2026", size, weight) <= width) break;
    }
    return cut + "\u2026";
}

int draw_paragraph(cairo_t* cairo, std::string_view text, double x, double baseline, const TextStyle& style,
                   const Paragraph& paragraph) {
    if (text.empty()) return 0;
    const Layout layout = lay_out_paragraph(text, paragraph.width, style.size, style.weight);
    if (pango_layout_get_line_count(layout.get()) > paragraph.lines_max) {
        pango_layout_set_height(layout.get(), -paragraph.lines_max);
        pango_layout_set_ellipsize(layout.get(), PANGO_ELLIPSIZE_END);
    } else {
        const double width = balanced_width(layout.get(), paragraph.width);
        pango_layout_set_width(layout.get(), static_cast<int>(std::lround(width * PANGO_SCALE)));
    }
    set_colour(cairo, style.colour);
    const int lines = pango_layout_get_line_count(layout.get());
    for (int line = 0; line < lines; ++line) {
        cairo_move_to(cairo, x, baseline + line * paragraph.pitch);
        pango_cairo_show_layout_line(cairo, pango_layout_get_line_readonly(layout.get(), line));
    }
    return lines;
}

int paragraph_lines(std::string_view text, double width, double size, Weight weight) {
    if (text.empty()) return 0;
    return pango_layout_get_line_count(lay_out_paragraph(text, width, size, weight).get());
}

std::string isolated(std::string_view name) { return "\u2068" + std::string(name) + "\u2069"; }

int characters_without_font(std::string_view text) {
    if (text.empty()) return 0;
    return pango_layout_get_unknown_glyphs_count(lay_out(text, 10, Weight::regular).get());
}

}  // namespace breakstep
