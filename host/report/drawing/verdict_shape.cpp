#include "report/drawing/verdict_shape.hpp"

#include <cairo.h>

#include <algorithm>
#include <cctype>

namespace breakstep {
namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double stroke = 0.13;     // of the size: thickness of outlined squares and wedges
constexpr double bar = 0.15;        // width of the upright bar
constexpr double disc = 0.43;       // radius of the disc
constexpr double bars_span = 1.51;  // from the first entry's edge to the last one's, in sizes
constexpr double bar_width = 0.12;

/// Lays its own coordinates over the context: the shape's middle is 0, its height 1.
class Frame {
  public:
    Frame(cairo_t* cairo, Point centre, double size, Colour colour) : cairo_(cairo) {
        cairo_save(cairo);
        cairo_translate(cairo, centre.x, centre.y);
        cairo_scale(cairo, size, size);
        cairo_new_path(cairo);
        set_colour(cairo, colour);
    }
    ~Frame() { cairo_restore(cairo_); }
    Frame(const Frame&) = delete;
    Frame& operator=(const Frame&) = delete;

    void box(double x, double y, double width, double height) {
        cairo_rectangle(cairo_, x, y, width, height);
        cairo_fill(cairo_);
    }
    void hollow_box(double x, double y, double width, double height, double thickness) {
        cairo_rectangle(cairo_, x + thickness / 2, y + thickness / 2, width - thickness, height - thickness);
        outline(thickness);
    }
    void polygon(std::initializer_list<Point> points) {
        path(points);
        cairo_fill(cairo_);
    }
    /// The outline of a triangle, wide open inside so that it is told from a full one at 14 px too.
    void hollow_triangle(Point a, Point b, Point c) {
        constexpr double inner = 0.63;
        const Point middle{(a.x + b.x + c.x) / 3, (a.y + b.y + c.y) / 3};
        const auto inside = [&](Point p) {
            return Point{middle.x + inner * (p.x - middle.x), middle.y + inner * (p.y - middle.y)};
        };
        path({a, b, c});
        cairo_new_sub_path(cairo_);
        for (const Point p : {inside(a), inside(b), inside(c)}) cairo_line_to(cairo_, p.x, p.y);
        cairo_close_path(cairo_);
        cairo_set_fill_rule(cairo_, CAIRO_FILL_RULE_EVEN_ODD);
        cairo_fill(cairo_);
    }
    void full_disc(Point centre, double radius) {
        cairo_arc(cairo_, centre.x, centre.y, radius, 0, 2 * pi);
        cairo_fill(cairo_);
    }
    /// Half a disc that stands `apart` from the upright through x: before it (-1) or after it (+1).
    void half_disc(double x, double side, double radius, double apart) {
        cairo_save(cairo_);
        const double edge = x + side * apart;
        cairo_rectangle(cairo_, side > 0 ? edge : edge - 2 * radius, -2 * radius, 2 * radius, 4 * radius);
        cairo_clip(cairo_);
        full_disc({x, 0}, radius);
        cairo_restore(cairo_);
    }
    void arc(Point centre, double radius, double from, double to, double thickness) {
        cairo_new_path(cairo_);
        cairo_arc(cairo_, centre.x, centre.y, radius, from, to);
        outline(thickness);
    }
    void hook() {
        cairo_move_to(cairo_, -0.35, 0.25);
        cairo_line_to(cairo_, -0.35, -0.075);
        cairo_arc(cairo_, 0, -0.075, 0.35, pi, 2 * pi);
        cairo_line_to(cairo_, 0.35, 0.27);
        outline(bar);
    }

  private:
    void path(std::initializer_list<Point> points) {
        cairo_new_path(cairo_);
        for (const Point& point : points) cairo_line_to(cairo_, point.x, point.y);
        cairo_close_path(cairo_);
    }
    void outline(double thickness) {
        cairo_set_line_width(cairo_, thickness);
        cairo_set_line_cap(cairo_, CAIRO_LINE_CAP_BUTT);
        cairo_set_line_join(cairo_, CAIRO_LINE_JOIN_MITER);
        cairo_stroke(cairo_);
    }

    cairo_t* cairo_;
};

void on_time(Frame& frame, bool simple) {
    if (simple) return frame.full_disc({0, 0}, 0.46);
    frame.box(-bar / 2, -0.5, bar, 1);
    frame.half_disc(0, -1, disc, 0.15);
    frame.half_disc(0, 1, disc, 0.15);
}

void around(Frame& frame) {
    frame.box(-bar / 2, -0.11, bar, 0.61);
    frame.hook();
    frame.full_disc({0.35, 0.31}, 0.19);
}

void early_or_late(Frame& frame, double side) {
    const double x = -side * 0.18;  // the bar; the half disc makes the other side as wide
    frame.box(x - bar / 2, -0.5, bar, 1);
    frame.half_disc(x, side, disc, 0.15);
}

void wedges(Frame& frame, bool hollow) {
    frame.polygon({{-0.575, -0.5}, {-0.02, 0}, {-0.575, 0.5}});
    if (hollow)
        frame.hollow_triangle({0.575, -0.5}, {0.02, 0}, {0.575, 0.5});
    else
        frame.polygon({{0.575, -0.5}, {0.02, 0}, {0.575, 0.5}});
}

void took_the_feint(Frame& frame) {
    frame.polygon({{-0.595, -0.05}, {-0.085, -0.56}, {0.425, -0.05}});
    frame.polygon({{-0.425, 0.05}, {0.085, 0.56}, {0.595, 0.05}});
}

void ring_of_dashes(Frame& frame) {
    for (int i = 0; i < 8; ++i) {
        const double middle = (i + 0.5) * pi / 4;
        frame.arc({0, 0}, disc, middle - 0.25, middle + 0.25, 0.11);
    }
}

void shape(Frame& frame, Verdict verdict, bool simple) {
    switch (verdict) {
        case Verdict::on_time:
            return on_time(frame, simple);
        case Verdict::around:
            return around(frame);
        case Verdict::early:
            return early_or_late(frame, -1);
        case Verdict::late:
            return early_or_late(frame, 1);
        case Verdict::clash:
            return wedges(frame, false);
        case Verdict::got_hit:
            return wedges(frame, true);
        case Verdict::missed:
            return frame.hollow_box(-0.495, -0.495, 0.99, 0.99, 0.15);
        case Verdict::wrong_pad:
            frame.hollow_box(-0.56, -0.345, 0.69, 0.69, stroke);
            return frame.box(0.14, -0.2, 0.4, 0.4);
        case Verdict::no_step:
            frame.hollow_box(-0.315, -0.5, 0.63, 0.63, stroke);
            return frame.box(-0.5, 0.34, 1, 0.16);
        case Verdict::gave_ground:
            frame.box(-0.52, -0.5, 0.16, 1);
            return frame.hollow_box(-0.085, -0.325, 0.65, 0.65, stroke);
        case Verdict::held:
            return frame.polygon({{0, -0.54}, {0.54, 0}, {0, 0.54}, {-0.54, 0}});
        case Verdict::took_the_feint:
            return took_the_feint(frame);
        case Verdict::void_rep:
            return ring_of_dashes(frame);
    }
}

std::vector<Duration> last_six(const std::vector<Duration>& entries) {
    const std::size_t count = std::min<std::size_t>(entries.size(), 6);
    return {entries.end() - static_cast<std::ptrdiff_t>(count), entries.end()};
}

}  // namespace

void draw_verdict_shape(cairo_t* cairo, Verdict verdict, Point centre, double size, const Palette& colours,
                        bool simple) {
    Frame frame(cairo, centre, size, colour_of(verdict, colours));
    shape(frame, verdict, simple);
}

double shape_width(Verdict verdict, double size) {
    switch (verdict) {
        case Verdict::on_time:
        case Verdict::void_rep:
            return 0.97 * size;
        case Verdict::early:
        case Verdict::late:
            return 0.72 * size;
        case Verdict::missed:
        case Verdict::no_step:
            return size;
        default:
            return 1.15 * size;
    }
}

double entry_bars_width(const std::vector<Duration>& entries, double size) {
    if (entries.empty()) return 0;
    return (entries.size() == 1 ? bar_width : bars_span + bar_width) * size;
}

double draw_entry_bars(cairo_t* cairo, const std::vector<Duration>& entries, double left, double middle, double size,
                       Colour colour) {
    const std::vector<Duration> shown = last_six(entries);
    for (const Duration at : shown) {
        const auto whole = static_cast<double>((shown.back() - shown.front()).count());
        const double share = whole > 0 ? static_cast<double>((at - shown.front()).count()) / whole : 0;
        fill_box(cairo, left + share * bars_span * size, middle - size / 2, bar_width * size, size, colour);
    }
    return entry_bars_width(entries, size);
}

std::string spoken(Verdict verdict) {
    std::string text(word(verdict));
    if (!text.empty()) text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
    return text;
}

}  // namespace breakstep
