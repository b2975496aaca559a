using System.Globalization;
using System.Security.Cryptography;
using System.Text;

namespace CashEvents.Api.Paydays;

/// <summary>A day of a calendar, as people read it.</summary>
/// <param name="Id">What it is about.</param>
/// <param name="Day">When.</param>
/// <param name="Category">Of which sort it is.</param>
/// <param name="Summary">In a few words.</param>
/// <param name="Description">What else is to be known.</param>
internal sealed record CalendarWords(string Id, DateOnly Day, string Category, string Summary, string Description)
{
    /// <summary>Alike for what says the same.</summary>
    public string Fingerprint => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(
        FormattableString.Invariant($"{Day:O}\n{Category}\n{Summary}\n{Description}"))));

    /// <summary>A date of the book in words, with amounts in its currency.</summary>
    public static CalendarWords Of(DateAhead date, Book book) => date switch
    {
        PaydayDate payday => OfPayday(payday, book),
        BillDate bill => OfBill(bill, book),
        SavingStepDate step => OfStep(step, book),
        MonthEndDate month => new(month.Id, month.Day, "month's end",
            month.Month.First.ToString("MMMM yyyy", CultureInfo.InvariantCulture) + " ends",
            "Sweep what is left over, count, and close the month."),
        CountDate count => new(count.Id, count.Day, "count",
            $"Count {book.Wallets[count.Wallet].Label}", count.LastCounted is { } day
                ? $"Some of it was last counted on {day:O}." : "Some of it was never counted."),
        _ => throw new ArgumentOutOfRangeException(nameof(date), date, null),
    };

    private static CalendarWords OfPayday(PaydayDate date, Book book)
    {
        var (source, on) = (date.Payday.Source, date.Payday.Date);
        var said = new List<string>();
        if (date.State is { } state)
        {
            said.Add(state switch
            {
                PaydayState.Filled => "The compartments are filled.",
                PaydayState.Left => "The program left it to be filled by hand.",
                _ => "Its fill was undone.",
            });
        }

        if (date.ToDraw > Money.Zero)
        {
            said.Add($"To draw in cash by the fill rules: {book.Currency.Say(date.ToDraw.Value)}.");
        }

        if (on.Closed is [var closed, ..])
        {
            said.Add($"The day itself is {on.Nominal:O}, and banks are closed: {closed.Because}.");
        }

        return new(date.Id, date.Day, "payday",
            source.Amount is { } amount ? $"{source.Label} pays {book.Currency.Say(amount)}" : $"{source.Label} pays",
            string.Join(' ', said));
    }

    private static CalendarWords OfBill(BillDate date, Book book)
    {
        var goal = book.Goals[date.Bill.Goal];
        var said = $"{book.Currency.Say(date.There)} of it is there in {book.Compartments[goal.Compartment].Label}.";
        return new(date.Id, date.Day, "bill", $"{goal.Label}: {book.Currency.Say(date.Bill.Amount)} due",
            date.WillMiss > Money.Zero
                ? $"{said} By the outlook {book.Currency.Say(date.WillMiss)} will be missing." : said);
    }

    private static CalendarWords OfStep(SavingStepDate date, Book book) => new(date.Id, date.Day, "saving step",
        $"Put {book.Currency.Say(date.Step.Amount)} aside: {book.Compartments[date.Plan.Compartment].Label}",
        FormattableString.Invariant($"Step {date.Step.Number} of {date.Plan.All().Count}."));
}
