using System.Text.Json;
using System.Text.Json.Serialization;

namespace CashEvents.Domain.Tests.Books;

/// <summary>Lines and books as text, so that two can be compared whole and a difference be read.</summary>
internal static class Written
{
    private static readonly JsonSerializerOptions Options = new()
    {
        Converters =
        { new JsonStringEnumConverter(), new MonthWord() }
    };

    public static string Line(IBookEvent line) =>
        $"{line.GetType().Name} {JsonSerializer.Serialize(line, line.GetType(), Options)}";

    public static string Lines(IEnumerable<IBookEvent> lines) => string.Join('\n', lines.Select(Line));

    public static string Book(Book book) => string.Join('\n',
    [
        $"{book.Line} {book.HasAmounts} {JsonSerializer.Serialize(book.Household, Options)} "
            + $"{JsonSerializer.Serialize(book.ClosedMonths, Options)}",
        .. book.Wallets.OrderBy(w => w.Key, StringComparer.Ordinal)
            .Select(w => $"{w.Key}: {JsonSerializer.Serialize(w.Value, Options)}"),
        .. book.Compartments.OrderBy(c => c.Key, StringComparer.Ordinal)
            .Select(c => $"{c.Key}: {JsonSerializer.Serialize(c.Value, Options)}"),
        .. book.Keys.OrderBy(k => k.Key, StringComparer.Ordinal)
            .Select(k => $"{k.Key}: {JsonSerializer.Serialize(k.Value, Options)}"),
        .. Enumerable.Range(1, (int)book.Line)
            .Where(n => book.Corrections.By(n) is not null || book.Corrections.Origin(n) != n)
            .Select(n => $"{n} by {book.Corrections.By(n)} from {book.Corrections.Origin(n)}"),
        .. book.LateCorrections.Select(c => c.ToString()),
        .. book.Days.OrderBy(d => d.Key.ToString(), StringComparer.Ordinal)
            .Select(d => $"{d.Key}: {JsonSerializer.Serialize(d.Value.Days, Options)}"),
        .. book.IncomeSources.Values.OrderBy(s => s.Id, StringComparer.Ordinal)
            .Select(s => JsonSerializer.Serialize(s, Options)),
        .. book.StandingPayments.Values.OrderBy(p => p.Id, StringComparer.Ordinal)
            .Select(p => JsonSerializer.Serialize(p, Options)),
        .. book.Goals.OrderBy(g => g.Key, StringComparer.Ordinal)
            .Select(g => $"{g.Key}: {JsonSerializer.Serialize(g.Value, Options)}"),
        .. book.SavingPlans.OrderBy(p => p.Key, StringComparer.Ordinal)
            .Select(p => $"{p.Key}: {JsonSerializer.Serialize(p.Value, Options)}"),
        .. book.FundTerms.OrderBy(f => f.Key, StringComparer.Ordinal)
            .Select(f => $"{f.Key}: {JsonSerializer.Serialize(f.Value, Options)}"),
        .. book.FillRules.OrderBy(r => r.Key, StringComparer.Ordinal)
            .Select(r => JsonSerializer.Serialize(r.Value, Options)),
        JsonSerializer.Serialize(book.AutomaticFills, Options), .. book.FillRuns.Select(r => $"{r.Key:O}: {r.Value}"),
        .. book.CountRounds.OrderBy(r => r.Key).Select(r => JsonSerializer.Serialize(r.Value, Options)),
        .. book.Handovers.OrderBy(h => h.Key, StringComparer.Ordinal)
            .Select(h => JsonSerializer.Serialize(h.Value, Options)),
        .. book.Places.OrderBy(p => p.Key, StringComparer.Ordinal)
            .Select(p => JsonSerializer.Serialize(p.Value, Options)),
        JsonSerializer.Serialize(book.CautionLimits, Options),
        JsonSerializer.Serialize(book.BankStatement, Options),
        .. book.Plan.Compartments.Order(StringComparer.Ordinal)
            .Select(c => $"{c}: {JsonSerializer.Serialize(book.Plan.Of(c), Options)}"),
    ]);

    /// <summary>A sentence with the acts that it names in angle brackets.</summary>
    public static string Spoken(this string sentence) => sentence.Replace(Acts.Begins, '<').Replace(Acts.Ends, '>');

    private sealed class MonthWord : JsonConverter<Month>
    {
        public override Month Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
            throw new NotSupportedException();

        public override void Write(Utf8JsonWriter writer, Month value, JsonSerializerOptions options) =>
            writer.WriteStringValue(value.ToString());
    }
}
